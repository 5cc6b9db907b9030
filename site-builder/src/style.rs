//! Part of stage 6: the style sheets bundled from `main.css` and minified by lightningcss.

use std::io;
use std::path::{Path, PathBuf};

use lightningcss::bundler::{Bundler, ResolveResult, SourceProvider};
use lightningcss::stylesheet::{MinifyOptions, ParserOptions, PrinterOptions};

use crate::finding::Finding;
use crate::source::Text;

/// The sheets already read, by their path; the bundler reads no disk.
struct Shelf<'a>(&'a [Text]);

impl SourceProvider for Shelf<'_> {
    type Error = io::Error;

    fn read<'a>(&'a self, file: &Path) -> Result<&'a str, io::Error> {
        self.0
            .iter()
            .find(|text| Path::new(&text.path) == file)
            .map(|text| text.text.as_str())
            .ok_or_else(|| {
                io::Error::new(
                    io::ErrorKind::NotFound,
                    format!("there is no style sheet {}", file.display()),
                )
            })
    }

    fn resolve(&self, specifier: &str, from: &Path) -> Result<ResolveResult, io::Error> {
        let folder = from.parent().unwrap_or(Path::new(""));
        Ok(ResolveResult::File(
            folder.join(specifier.trim_start_matches("./")),
        ))
    }
}

/// One minified sheet from `style/main.css` and all it imports.
///
/// # Errors
/// A sheet that is missing or cannot be read, with its line and column.
pub fn bundle(styles: &[Text]) -> Result<String, Finding> {
    let shelf = Shelf(styles);
    let mut bundler = Bundler::new(&shelf, None, ParserOptions::default());
    let mut sheet = bundler
        .bundle(&PathBuf::from("style/main.css"))
        .map_err(|error| Finding::whole("templates/style", error.to_string()))?;
    sheet
        .minify(MinifyOptions::default())
        .map_err(|error| Finding::whole("templates/style", error.to_string()))?;
    let printed = sheet
        .to_css(PrinterOptions {
            minify: true,
            ..PrinterOptions::default()
        })
        .map_err(|error| Finding::whole("templates/style", error.to_string()))?;
    Ok(printed.code)
}
