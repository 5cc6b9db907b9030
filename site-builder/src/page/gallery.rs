//! Part of stage 6: all drawings on one page. One look finds the set-up, one touch leads to where
//! it is built. Nobody writes the page; it is gathered from what the others show.

use crate::markdown::Rendered;
use crate::read::draft::Draft;
use crate::worked::class_kit::svg_as;
use serde::Serialize;
use std::collections::BTreeMap;

/// A drawing, and where it stands.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Drawing {
    /// What is drawn.
    pub title: String,
    /// The drawing, SVG; its numbers lead to the parts on its page.
    pub svg: String,
    /// Where it stands, in the order of the pages.
    pub places: Vec<Place>,
}

/// A page that shows a drawing.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Place {
    /// The page's title.
    pub title: String,
    /// The drawing on it, under the root: `techniques/x/#apparatus-1`.
    pub url: String,
}

/// All drawings in the order of the pages, each once: a kept assembly stands on several pages.
pub fn gather(drafts: &[Draft<'_>], rendered: &[Rendered]) -> Vec<Drawing> {
    let mut order: Vec<(&Draft<'_>, &Rendered)> = drafts.iter().zip(rendered).collect();
    order.sort_by_cached_key(|(draft, _)| (draft.matter.kind, draft.place()));
    let mut drawings: Vec<Drawing> = Vec::new();
    let mut kept: BTreeMap<&str, usize> = BTreeMap::new();
    for (draft, page) in order {
        for drawn in &page.material.drawings {
            let place = Place {
                title: draft.matter.title.clone(),
                url: format!("{}#{}", draft.url, drawn.id),
            };
            let name = drawn.name.as_deref();
            if let Some(at) = name.and_then(|name| kept.get(name)) {
                drawings[*at].places.push(place);
                continue;
            }
            if let Some(name) = name {
                kept.insert(name, drawings.len());
            }
            drawings.push(Drawing {
                title: drawn.assembly.title().to_owned(),
                svg: at_home(&drawn.svg, &drawn.id, draft),
                places: vec![place],
            });
        }
    }
    drawings
}

/// The drawing with ids of its own in the gallery, and its numbers leading back to its page.
fn at_home(svg: &str, own: &str, draft: &Draft<'_>) -> String {
    let id = format!("{}-{own}", draft.name);
    svg_as(&id, svg, own).replace(
        &format!("href=\"#{id}-"),
        &format!("href=\"../{}#{own}-", draft.url),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::read::front_matter::FrontMatter;
    use crate::read::source::Text;

    #[test]
    fn numbers_lead_home_and_ids_stay_apart() {
        let source = Text {
            file: "content/techniques/x.md".into(),
            path: "techniques/x.md".into(),
            text: String::new(),
            ..Text::default()
        };
        let draft = Draft {
            source: &source,
            matter: FrontMatter::default(),
            body: 0,
            name: "x",
            url: "techniques/x/".into(),
        };
        let svg = r##"<svg aria-labelledby="a-1-title a-1-desc"><title id="a-1-title"/><a href="#a-1-part-2" id="a-1-drawn-2"/></svg>"##;
        assert_eq!(
            at_home(svg, "a-1", &draft),
            r##"<svg aria-labelledby="x-a-1-title x-a-1-desc"><title id="x-a-1-title"/><a href="../techniques/x/#a-1-part-2" id="x-a-1-drawn-2"/></svg>"##
        );
    }
}
