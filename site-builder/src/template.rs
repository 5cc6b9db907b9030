//! Stage 7: Tera sets the pages. Templates are compiled once; what all pages share is handed in once.

use serde_json::json;
use tera::{Context, Tera};

use crate::assets::Names;
use crate::finding::Finding;
use crate::page::{Draft, Drafts};
use crate::source::Text;

/// The compiled templates with the shared context.
#[derive(Debug)]
pub struct Templates {
    tera: Tera,
}

impl Templates {
    /// Compiles the templates.
    ///
    /// # Errors
    /// A template that Tera cannot read; its own words say where.
    pub fn new(files: &[Text], drafts: &Drafts, names: &Names) -> Result<Self, Vec<Finding>> {
        let mut tera = Tera::default();
        tera.add_raw_templates(
            files
                .iter()
                .map(|file| (file.path.as_str(), file.text.as_str())),
        )
        .map_err(|error| vec![trouble("templates", &error)])?;
        let shared = tera.global_context();
        shared.insert("site", &drafts.site);
        shared.insert("lists", &drafts.lists);
        shared.insert("assets", &json!(names));
        Ok(Templates { tera })
    }

    /// Sets all pages: path under the root, and HTML.
    ///
    /// # Errors
    /// Every page whose template fails.
    pub fn render(&self, pages: &[Draft]) -> Result<Vec<(String, String)>, Vec<Finding>> {
        let workers = std::thread::available_parallelism().map_or(1, usize::from);
        let share = pages.len().div_ceil(workers).max(1);
        let results: Vec<Result<(String, String), Finding>> = std::thread::scope(|scope| {
            let threads: Vec<_> = pages
                .chunks(share)
                .map(|chunk| {
                    scope.spawn(|| chunk.iter().map(|page| self.one(page)).collect::<Vec<_>>())
                })
                .collect();
            threads
                .into_iter()
                .flat_map(|thread| thread.join().unwrap_or_default())
                .collect()
        });
        let (good, bad): (Vec<_>, Vec<_>) = results.into_iter().partition(Result::is_ok);
        if bad.is_empty() {
            Ok(good.into_iter().flatten().collect())
        } else {
            Err(bad.into_iter().filter_map(Result::err).collect())
        }
    }

    fn one(&self, page: &Draft) -> Result<(String, String), Finding> {
        let mut context = Context::new();
        for (name, value) in &page.context {
            context.insert(name.clone(), value);
        }
        let html = self.tera.render(page.template, &context);
        html.map(|html| (page.path.clone(), html))
            .map_err(|error| trouble(&page.path, &error))
    }
}

/// Tera's error with all its causes.
fn trouble(place: &str, error: &dyn std::error::Error) -> Finding {
    let mut message = error.to_string();
    let mut cause = error.source();
    while let Some(inner) = cause {
        message.push_str(": ");
        message.push_str(&inner.to_string());
        cause = inner.source();
    }
    Finding::whole(place, message)
}
