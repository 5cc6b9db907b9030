//! Stage 8: the style sheets, bundled from `main.css` and minified.

use crate::finding::Finding;
use crate::read::source::Text;
use lightningcss::bundler::{Bundler, ResolveResult, SourceProvider};
use lightningcss::stylesheet::{MinifyOptions, ParserOptions, PrinterOptions};
use std::collections::BTreeMap;
use std::fmt;
use std::path::{Path, PathBuf};

const ENTRY: &str = "main.css";

/// One style sheet made of all.
///
/// # Errors
/// A sheet that is missing or cannot be read as CSS, at its line and column.
pub fn bundle(sheets: &[Text]) -> Result<String, Finding> {
    let shelf = Shelf(
        sheets
            .iter()
            .map(|sheet| (PathBuf::from(name(sheet)), sheet.text.as_str()))
            .collect(),
    );
    let options = ParserOptions {
        filename: ENTRY.to_owned(),
        ..ParserOptions::default()
    };
    let mut bundler = Bundler::new(&shelf, None, options);
    let mut sheet = bundler
        .bundle(Path::new(ENTRY))
        .map_err(|error| finding(sheets, &error))?;
    sheet
        .minify(MinifyOptions::default())
        .map_err(|error| finding(sheets, &error))?;
    let printed = sheet
        .to_css(PrinterOptions {
            minify: true,
            ..PrinterOptions::default()
        })
        .map_err(|error| finding(sheets, &error))?;
    Ok(printed.code)
}

fn name(sheet: &Text) -> &str {
    sheet.path.rsplit('/').next().unwrap_or(&sheet.path)
}

fn finding<T: fmt::Display>(sheets: &[Text], error: &lightningcss::error::Error<T>) -> Finding {
    let message = format!("the style sheet cannot be read: {}", error.kind);
    let place = error.loc.as_ref();
    let sheet = place.and_then(|place| {
        let file = Path::new(&place.filename).file_name()?;
        sheets
            .iter()
            .find(|sheet| Path::new(name(sheet)) == Path::new(file))
    });
    match (place, sheet) {
        (Some(place), Some(sheet)) => {
            let before: usize = sheet
                .text
                .split_inclusive('\n')
                .take(place.line as usize)
                .map(str::len)
                .sum();
            let at = before + (place.column as usize).saturating_sub(1);
            Finding::at(&sheet.file, &sheet.text, at..at + 1, message)
        }
        _ => Finding::whole("templates/style/main.css", message),
    }
}

/// The sheets as the bundler asks for them: by name, never from the disk.
struct Shelf<'a>(BTreeMap<PathBuf, &'a str>);

/// A sheet that is not there.
#[derive(Debug)]
struct Missing(String);

impl fmt::Display for Missing {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "there is no style sheet `{}`", self.0)
    }
}

impl std::error::Error for Missing {}

impl SourceProvider for Shelf<'_> {
    type Error = Missing;

    fn read<'a>(&'a self, file: &Path) -> Result<&'a str, Missing> {
        let name = file.file_name().map(PathBuf::from).unwrap_or_default();
        self.0
            .get(&name)
            .copied()
            .ok_or_else(|| Missing(file.display().to_string()))
    }

    fn resolve(&self, specifier: &str, _from: &Path) -> Result<ResolveResult, Missing> {
        Ok(ResolveResult::File(PathBuf::from(
            specifier.trim_start_matches("./"),
        )))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sheet(name: &str, text: &str) -> Text {
        Text {
            file: format!("templates/style/{name}"),
            path: format!("style/{name}"),
            text: text.into(),
            ..Text::default()
        }
    }

    #[test]
    fn bundles_and_minifies() {
        let sheets = [
            sheet("main.css", "@import \"./text.css\";\nb { color: red }"),
            sheet("text.css", "a { color: #ff0000 }"),
        ];
        assert_eq!(bundle(&sheets).as_deref(), Ok("a{color:red}b{color:red}"));
    }

    #[test]
    fn says_what_is_missing_and_what_is_no_css() {
        let missing = bundle(&[sheet("main.css", "@import \"gone.css\";")]).expect_err("missing");
        assert!(missing.message.contains("gone.css"), "{missing}");
        let wrong = bundle(&[sheet("main.css", "a {}\nb { color: red } }")]).expect_err("wrong");
        assert_eq!(
            (wrong.file.as_str(), wrong.line),
            ("templates/style/main.css", 2),
            "{wrong}"
        );
        assert!(bundle(&[]).is_err());
    }
}
