//! Stage 7: templates. Compiled once, filled for every page.

use crate::finding::Finding;
use crate::read::source::Text;
use serde::Serialize;
use std::error::Error;
use tera::{Context, Tera};

/// The compiled templates.
#[derive(Debug)]
pub struct Templates {
    tera: Tera,
}

impl Templates {
    /// Compiles all templates together, so that a template that includes itself is found here.
    ///
    /// # Errors
    /// What does not parse, leads nowhere or goes in a circle.
    pub fn compile(files: &[Text]) -> Result<Self, Finding> {
        let mut tera = Tera::new();
        tera.add_raw_templates(
            files
                .iter()
                .map(|file| (file.path.as_str(), file.text.as_str())),
        )
        .map_err(|error| finding(files, &error))?;
        Ok(Self { tera })
    }

    /// Gives all templates something.
    pub fn share(&mut self, name: &'static str, value: &impl Serialize) {
        self.tera.global_context().insert(name, value);
    }

    /// Whether there is a template of this name.
    pub fn has(&self, name: &str) -> bool {
        self.tera.contains_template(name)
    }

    /// Fills a template.
    ///
    /// # Errors
    /// The template is missing or asks for what the page does not have.
    pub fn fill(&self, name: &str, context: &Context) -> Result<String, Finding> {
        self.tera
            .render(name, context)
            .map_err(|error| Finding::whole(&format!("templates/{name}"), words(&error)))
    }
}

fn finding(files: &[Text], error: &tera::Error) -> Finding {
    let said = words(error);
    // The engine names the template in its words; the finding is put on that file.
    let file = files
        .iter()
        .filter(|file| said.contains(&file.path))
        .max_by_key(|file| file.path.len());
    Finding::whole(file.map_or("templates", |file| &file.file), said)
}

fn words(error: &tera::Error) -> String {
    let mut said = error.to_string();
    let mut cause = error.source();
    while let Some(inner) = cause {
        said.push_str(": ");
        said.push_str(&inner.to_string());
        cause = inner.source();
    }
    said
}

#[cfg(test)]
mod tests {
    use super::*;

    fn file(path: &str, text: &str) -> Text {
        Text {
            file: format!("templates/{path}"),
            path: path.into(),
            text: text.into(),
            ..Text::default()
        }
    }

    #[test]
    fn fills_with_shared_and_own_values() {
        let mut templates = Templates::compile(&[
            file("base.html", "{{ site }}: {% block main %}{% endblock %}"),
            file(
                "page.html",
                "{% extends \"base.html\" %}{% block main %}{{ words }}{% endblock %}",
            ),
        ])
        .expect("sound templates");
        templates.share("site", &"S");
        let mut context = Context::new();
        context.insert("words", "<b>");
        assert_eq!(
            templates.fill("page.html", &context).as_deref(),
            Ok("S: &lt;b&gt;")
        );
        assert!(templates.has("page.html") && !templates.has("other.html"));
        assert!(templates.fill("other.html", &context).is_err());
    }

    #[test]
    fn says_what_is_wrong_with_a_template() {
        let open = Templates::compile(&[file("a.html", "{% if x %}")]).expect_err("open");
        assert_eq!(open.file, "templates/a.html");
        let circle = Templates::compile(&[
            file("a.html", "{% include \"b.html\" %}"),
            file("b.html", "{% include \"a.html\" %}"),
        ])
        .expect_err("a circle");
        assert!(
            circle.message.to_lowercase().contains("circular"),
            "{circle}"
        );
    }
}
