//! A `steps` block: a numbered list to tick off, with timers and cautions.

use super::Fenced;
use crate::markdown::pass::{Place, Spanned, end_of};
use crate::markdown::{OPTIONS, Writer};
use crate::worked::material;
use calc_wasm::outcome::Level;
use pulldown_cmark::{BlockQuoteKind, Event, Parser, Tag};

impl Writer<'_> {
    /// An ordered list becomes steps that can be ticked. What follows the first words of an
    /// item (a calculator, a nested list) stays with its step; its cautions go before the words,
    /// since they are to be read before it is done.
    pub(super) fn steps(&mut self, block: &Fenced<'_>) -> String {
        let text = block.body.as_str();
        let events: Vec<Spanned<'_>> = Parser::new_ext(text, OPTIONS).into_offset_iter().collect();
        let mut html = String::new();
        let mut at = 0;
        let mut found = false;
        while at < events.len() {
            let end = end_of(&events, at);
            if matches!(events[at].0, Event::Start(Tag::List(Some(_)))) {
                found = true;
                let id = self.count("steps");
                html.push_str(&format!("<ol class=\"steps\" id=\"{id}\">\n"));
                self.out.material.steps.push(material::Steps {
                    title: self.heading.clone(),
                    steps: Vec::new(),
                });
                self.step_items(block, text, &events[at + 1..end], &mut html);
                html.push_str("</ol>\n");
            } else {
                html.push_str(&self.run(text, &events[at..=end], &block.origin, Place::Text));
            }
            at = end + 1;
        }
        if !found {
            self.find(
                block.word_span.clone(),
                "the block has no numbered list",
                Some("begin each step with `1. `".into()),
            );
        }
        html
    }

    fn step_items(
        &mut self,
        block: &Fenced<'_>,
        text: &str,
        events: &[Spanned<'_>],
        html: &mut String,
    ) {
        let mut at = 0;
        let mut number = 0;
        while at < events.len() {
            let end = end_of(events, at);
            number += 1;
            let inside = &events[at + 1..end];
            let (words, rest) = first_words(inside);
            let label = self.run(text, words, &block.origin, Place::Label);
            let (label, timer) = match take_timer(label.trim()) {
                Ok(parts) => parts,
                Err(written) => {
                    let item = events[at].1.clone();
                    let span = match text[item.clone()].rfind(&written) {
                        Some(found) if !written.is_empty() => {
                            item.start + found..item.start + found + written.len()
                        }
                        _ => item,
                    };
                    self.find(
                        block.origin.span(&span),
                        format!("`{written}` is no time"),
                        Some("write it as (timer: 10 min), in s, min or h".into()),
                    );
                    (label.trim().to_owned(), None)
                }
            };
            let (cautions, rest) = apart(rest);
            let before = self.run(text, &cautions, &block.origin, Place::Text);
            html.push_str("<li class=\"step\">");
            html.push_str(before.trim_end());
            html.push_str(&format!(
                "<label><input type=\"checkbox\" data-step=\"{number}\"> <span>{label}</span></label>"
            ));
            let mut step = material::Step {
                words: material::without_links(&label),
                takes: None,
                cautions: self.cautions_of(block, text, &cautions),
            };
            if let Some((written, timer)) = timer {
                html.push(' ');
                html.push_str(&timer);
                step.takes = Some(written);
            }
            if let Some(steps) = self.out.material.steps.last_mut() {
                steps.steps.push(step);
            }
            let rest = self.run(text, &rest, &block.origin, Place::Text);
            if !rest.trim().is_empty() {
                html.push('\n');
                html.push_str(&rest);
            }
            html.push_str("</li>\n");
            at = end + 1;
        }
    }

    /// The warnings and cautions of a step, for its card: the same words once more, so what they
    /// leave for the search and what is wrong with them is left out.
    fn cautions_of(
        &mut self,
        block: &Fenced<'_>,
        text: &str,
        events: &[Spanned<'_>],
    ) -> Vec<material::Warning> {
        let kept = (
            self.out.words.len(),
            self.out.findings.len(),
            self.out.links.len(),
        );
        let mut cautions = Vec::new();
        let mut at = 0;
        while at < events.len() {
            let end = end_of(events, at);
            if let Some(level) = level(&events[at].0) {
                let html = self.run(text, &events[at + 1..end], &block.origin, Place::Label);
                let words = html.replace("</p>", " ").replace("<p>", "");
                let words = material::without_links(words.trim());
                cautions.push(material::Warning::new(level, words));
            }
            at = end + 1;
        }
        self.out.words.truncate(kept.0);
        self.out.findings.truncate(kept.1);
        self.out.links.truncate(kept.2);
        cautions
    }
}

/// How grave a caution begins here, by the word that stands over it in the page.
fn level(event: &Event<'_>) -> Option<Level> {
    match event {
        Event::Start(Tag::BlockQuote(Some(BlockQuoteKind::Caution))) => Some(Level::Danger),
        Event::Start(Tag::BlockQuote(Some(BlockQuoteKind::Warning))) => Some(Level::Care),
        _ => None,
    }
}

/// Parts the cautions of a step from all else that follows its first words.
fn apart<'e>(events: &[Spanned<'e>]) -> (Vec<Spanned<'e>>, Vec<Spanned<'e>>) {
    let (mut cautions, mut rest) = (Vec::new(), Vec::new());
    let mut at = 0;
    while at < events.len() {
        let end = end_of(events, at);
        let into = match level(&events[at].0) {
            Some(_) => &mut cautions,
            None => &mut rest,
        };
        into.extend_from_slice(&events[at..=end]);
        at = end + 1;
    }
    (cautions, rest)
}

/// Parts the inside of a list item into its first words and what follows them.
fn first_words<'p, 'e>(inside: &'p [Spanned<'e>]) -> (&'p [Spanned<'e>], &'p [Spanned<'e>]) {
    if let Some((Event::Start(Tag::Paragraph), _)) = inside.first() {
        let end = end_of(inside, 0);
        return (&inside[1..end], &inside[end + 1..]);
    }
    let mut at = 0;
    while at < inside.len() {
        let block = matches!(
            &inside[at].0,
            Event::Rule
                | Event::Html(_)
                | Event::Start(
                    Tag::Paragraph
                        | Tag::List(_)
                        | Tag::BlockQuote(_)
                        | Tag::CodeBlock(_)
                        | Tag::Table(_)
                        | Tag::Heading { .. }
                        | Tag::HtmlBlock
                        | Tag::DefinitionList
                )
        );
        if block {
            break;
        }
        at = end_of(inside, at) + 1;
    }
    inside.split_at(at)
}

/// Parts `Stir. (timer: 10 min)` into the words, the time and the timer's button.
fn take_timer(label: &str) -> Result<(String, Option<(String, String)>), String> {
    let Some((words, time)) = label
        .strip_suffix(')')
        .and_then(|l| l.rsplit_once("(timer:"))
    else {
        return Ok((label.to_owned(), None));
    };
    let written = time.trim();
    let minutes = written.split_once(' ').and_then(|(number, unit)| {
        let number: f64 = number.parse().ok()?;
        let each = match unit.trim() {
            "s" => 1.0 / 60.0,
            "min" => 1.0,
            "h" => 60.0,
            _ => return None,
        };
        let minutes = number * each;
        (minutes.is_finite() && minutes > 0.0 && minutes <= 7.0 * 24.0 * 60.0).then_some(minutes)
    });
    let Some(minutes) = minutes else {
        return Err(written.to_owned());
    };
    let button = format!(
        "<button type=\"button\" class=\"timer\" data-minutes=\"{minutes}\">{written}</button>"
    );
    Ok((
        words.trim_end().to_owned(),
        Some((written.to_owned(), button)),
    ))
}
