//! What kept the site from being built or written, and where an open page shows it: a page with
//! faults of its own over what it was last, the others in a line that leads there.

use crate::finding::{Finding, Severity};
use crate::read::draft;
use calc_wasm::markup::escape;
use std::collections::BTreeMap;
use std::path::Path;

/// All findings of a build that failed.
#[derive(Debug)]
pub struct Trouble {
    all: Vec<Finding>,
    /// Those of a page, by its address; those of data, templates and the disk under none.
    by_page: BTreeMap<Option<String>, Vec<Finding>>,
}

impl Trouble {
    /// Sorts findings by the pages of `content` they belong to.
    pub fn new(findings: &[Finding], content: &Path) -> Self {
        let mut by_page: BTreeMap<Option<String>, Vec<Finding>> = BTreeMap::new();
        for finding in findings {
            if finding.severity == Severity::Error {
                let address = address(&finding.file, content);
                by_page.entry(address).or_default().push(finding.clone());
            }
        }
        Self {
            all: findings.to_vec(),
            by_page,
        }
    }

    /// What stands over the page at `address`, as it was last.
    pub fn over(&self, address: &str) -> String {
        let own = self.by_page.get(&Some(address.to_owned()));
        let shared = self.by_page.get(&None);
        let here: Vec<&Finding> = own.into_iter().chain(shared).flatten().collect();
        let mut html = String::from("<aside class=\"preview-trouble\" role=\"alert\">\n");
        if here.is_empty() {
            html.push_str("<p>The site could not be written; this page is as it was last. What is wrong stands on ");
            let broken = self.by_page.keys().flatten();
            let links = broken.map(|page| {
                let name = if page.is_empty() {
                    "the start page"
                } else {
                    page
                };
                format!("<a href=\"/{}\">{}</a>", escape(page), escape(name))
            });
            html.push_str(&links.collect::<Vec<_>>().join(", "));
            html.push_str(".</p>\n");
        } else {
            html.push_str("<p>The site could not be written. Below, this page is as it was last. This makes way as soon as all is mended and saved.</p>\n");
            html.push_str(&listed(here));
        }
        html + "</aside>\n"
    }

    /// A page of its own, where there is none from before.
    pub fn page(&self, script: &str) -> String {
        let list = listed(&self.all);
        format!(
            "<!doctype html>\n<html lang=\"en-GB\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" content=\"width=device-width\">\n<title>The site could not be written</title>\n<link rel=\"stylesheet\" href=\"/.preview/style.css\">\n{script}\n</head>\n<body class=\"preview-page\">\n<main class=\"preview-trouble\">\n<h1>The site could not be written</h1>\n<p>The one before it stands as it was. This page makes way as soon as all is mended and saved.</p>\n{list}</main>\n</body>\n</html>\n",
        )
    }
}

/// The address of the page whose file this is; none where it is no page of `content`.
fn address(file: &str, content: &Path) -> Option<String> {
    let path = Path::new(file).strip_prefix(content).ok()?.to_str()?;
    path.ends_with(".md").then(|| draft::address(path))
}

/// Findings as a list: each with its place, the line as written, and what would be right.
fn listed<'f>(findings: impl IntoIterator<Item = &'f Finding>) -> String {
    let mut html = String::from("<ol>\n");
    for finding in findings {
        let word = match finding.severity {
            Severity::Error => "error",
            Severity::Note => "note",
        };
        let (place, message) = (escape(&finding.place()), escape(&finding.message));
        html.push_str(&format!(
            "<li class=\"{word}\"><p class=\"place\">{place}</p><p class=\"message\">{message}</p>"
        ));
        if let Some(excerpt) = &finding.excerpt {
            let (line, marks) = (escape(&excerpt.line), &excerpt.marks);
            html.push_str(&format!("<pre>{line}\n{marks}</pre>"));
        }
        if let Some(mend) = &finding.mend {
            html.push_str(&format!("<p class=\"mend\">{}</p>", escape(mend)));
        }
        html.push_str("</li>\n");
    }
    html + "</ol>\n"
}
