//! Converts CommonMark events to inlines: text, emphasis, links, actions and images.

use super::read::Reader;
use super::rules;
use super::text::{is_comment, is_end, normalised, push_text};
use super::unread::{self, Unread};
use super::{ActionLink, Image, Inline, Verb};
use crate::finding::{Finding, Located, Span};
use crate::tree::OVER_LIMIT;
use pulldown_cmark::{Event, LinkType, Tag, TagEnd};
use std::ops::Range;

/// The limit on emphasis and links in one another, which prevents a stack overflow here and in the page templates. Nobody
/// can read text in so many kinds of type.
const MAX_INLINE_DEPTH: usize = 8;

impl<'t, I: Iterator<Item = (Event<'t>, Range<usize>)>> Reader<'t, '_, I> {
    /// Reads the inlines up to `end`. The vector has no spare capacity, because a tree has very many of them and most
    /// contain one inline.
    pub(super) fn inlines(&mut self, end: TagEnd) -> Vec<Inline> {
        if self.inline_depth > MAX_INLINE_DEPTH {
            let range = self.skip_nested(end);
            let message =
                format!("emphasis and links are nested more than {MAX_INLINE_DEPTH} deep");
            let finding = Finding::new(&OVER_LIMIT, message);
            let finding = finding.primary(self.span(range), "");
            self.findings
                .push(finding.help("leave out the asterisks and underscores that change nothing"));
            return Vec::new();
        }
        self.inline_depth += 1;
        let mut inlines = Vec::with_capacity(1);
        while let Some((event, range)) = self.events.next() {
            if is_end(&event, end) {
                break;
            }
            self.inline(event, range, &mut inlines);
        }
        self.inline_depth -= 1;
        inlines.shrink_to_fit();
        inlines
    }

    pub(super) fn inline(
        &mut self,
        event: Event<'t>,
        range: Range<usize>,
        inlines: &mut Vec<Inline>,
    ) {
        match event {
            Event::Text(text) => {
                self.check_text(range.clone());
                self.check_reference(&text, range);
                push_text(inlines, &text);
            }
            Event::Code(text) => {
                let typed = self.text.get(range.clone()).unwrap_or_default();
                if let Some(unread) = Unread::code(typed, range) {
                    self.report_unread_link(unread);
                }
                inlines.push(Inline::Code(text.to_string()));
            }
            Event::SoftBreak => push_text(inlines, " "),
            Event::HardBreak => inlines.push(Inline::Break),
            Event::InlineHtml(html) if !is_comment(&html) => self.report_unread("HTML", range),
            Event::Start(Tag::Strong) => {
                let parts = self.inlines(TagEnd::Strong);
                inlines.push(Inline::Strong(parts));
            }
            Event::Start(Tag::Emphasis) => {
                let parts = self.inlines(TagEnd::Emphasis);
                inlines.push(Inline::Emphasis(parts));
            }
            Event::Start(Tag::Link {
                link_type,
                dest_url,
                title,
                id,
            }) => {
                // The parser repeats the address of `<remove:cover>` as its text.
                let parts = if link_type == LinkType::Autolink {
                    self.skip(TagEnd::Link);
                    let is_action = Verb::of_address(&dest_url).is_some();
                    let text = (!is_action).then(|| Inline::Text(dest_url.to_string()));
                    text.into_iter().collect()
                } else {
                    self.inlines(TagEnd::Link)
                };
                if !id.is_empty() {
                    self.used.insert(normalised(&id));
                }
                if !title.is_empty() {
                    self.report_unread_link(Unread::markdown(
                        range.clone(),
                        "the title of a link is not supported",
                        "it is not printed; write it in the text, or remove it",
                    ));
                }
                let link = self.link(&dest_url, range, parts);
                inlines.push(link);
            }
            Event::Start(Tag::Image {
                dest_url,
                title,
                id,
                ..
            }) => {
                let parts = self.inlines(TagEnd::Image);
                if !id.is_empty() {
                    self.used.insert(normalised(&id));
                }
                inlines.push(self.image(&dest_url, &title, range, parts));
            }
            Event::Start(Tag::Strikethrough) => {
                self.skip(TagEnd::Strikethrough);
                self.report_unread("struck-out text", range);
            }
            Event::FootnoteReference(_) => self.report_unread("a footnote", range),
            Event::TaskListMarker(_) => self.report_unread("a checkbox", range),
            Event::Start(tag) => {
                self.skip(tag.to_end());
                self.report_unread("this", range);
            }
            _ => {}
        }
    }

    /// The span of a link's address: the last occurrence of the address in the link.
    fn address_span(&self, address: &str, range: Range<usize>) -> Span {
        let link = self.text.get(range.clone()).unwrap_or_default();
        // Most links end with the address.
        let before = link
            .strip_suffix(')')
            .and_then(|link| link.strip_suffix(address));
        let position = match before.filter(|_| !address.ends_with(')')) {
            Some(before) => Some(before.len()),
            None => link.rfind(address),
        };
        match position.filter(|_| !address.is_empty()) {
            Some(position) => {
                let start = range.start + position;
                self.span(start..start + address.len())
            }
            None => self.span(range),
        }
    }

    fn image(
        &mut self,
        address: &str,
        title: &str,
        range: Range<usize>,
        parts: Vec<Inline>,
    ) -> Inline {
        let scheme = address.split_once(':').map(|(scheme, _)| scheme);
        if let Some(verb) = scheme.and_then(unread::verb_meant) {
            let name = address.split_once(':').map_or("", |(_, name)| name);
            self.report_unread_link(Unread::figure(verb, name, &parts, range.clone()));
            // It is rehearsed as it was meant, so that the rules do not report that it is missing.
            return self.link(&format!("{}:{name}", verb.word()), range, parts);
        }
        if let Some(finding) = unread::action_in_figure(&parts) {
            self.findings.push(finding);
        }
        let alt = super::plain(&parts);
        let span = self.span(range.clone());
        let path = self.address_span(address, range);
        if alt.trim().is_empty() {
            self.findings.push(
                Finding::new(
                    &rules::FIGURE_WITHOUT_TEXT,
                    "a figure has no alternative text",
                )
                .primary(span, "")
                .help("say what it shows: `![the rod in the outer hole](…)`"),
            );
        }
        Inline::Image(Box::new(Image {
            path: Located {
                value: address.to_owned(),
                span: path,
            },
            alt,
            caption: (!title.is_empty()).then(|| title.to_owned()),
            span,
        }))
    }

    fn link(&mut self, address: &str, range: Range<usize>, parts: Vec<Inline>) -> Inline {
        let address_span = self.address_span(address, range.clone());
        let located = |value: &str, span: Span| Located {
            value: value.to_owned(),
            span,
        };
        let Some((scheme, rest)) = address.split_once(':') else {
            let finding = unread::relative_link(address, address_span, &parts);
            self.findings.push(finding);
            return Inline::Link(Box::new(located(address, address_span)), parts);
        };
        if let Some(verb) = Verb::find(scheme) {
            let thing_span = if address_span.len() == address.len() {
                address_span.part(scheme.len() + 1..address.len())
            } else {
                address_span
            };
            let action = ActionLink {
                verb,
                thing: located(rest, thing_span),
                span: self.span(range),
            };
            return Inline::Action(Box::new(action), parts);
        }
        if !matches!(scheme, "http" | "https" | "mailto" | "tel") {
            let scheme_span = if address_span.len() == address.len() {
                address_span.part(0..scheme.len())
            } else {
                address_span
            };
            self.findings
                .push(unread::unknown_verb(scheme, scheme_span));
        }
        Inline::Link(Box::new(located(address, address_span)), parts)
    }
}
