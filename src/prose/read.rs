//! Reads CommonMark events as blocks.

use super::rules;
use super::{ActionLink, Heading, Image, Inline, Item, List, ProseBlock, Verb};
use crate::finding::{Finding, Findings, Located, Span, nearest};
use pulldown_cmark::{Event, Options, Parser, Tag, TagEnd};
use std::ops::Range;

/// Reads Markdown text. `span` is its place in the sources.
pub(crate) fn read(text: &str, span: Span, findings: &mut Findings) -> Vec<ProseBlock> {
    // These extensions are parsed so that they can be refused. Otherwise their syntax would be printed.
    let options = Options::ENABLE_HEADING_ATTRIBUTES
        | Options::ENABLE_TABLES
        | Options::ENABLE_FOOTNOTES
        | Options::ENABLE_STRIKETHROUGH
        | Options::ENABLE_TASKLISTS;
    let events = Parser::new_ext(text, options).into_offset_iter();
    let mut reader = Reader {
        text,
        span,
        findings,
        depth: 0,
        events: events.peekable(),
    };
    let mut blocks = Vec::new();
    while let Some((event, range)) = reader.events.next() {
        reader.block(event, range, &mut blocks);
    }
    blocks
}

/// Reads text that has no blocks, such as an instruction in a machine's file.
///
/// Paragraphs are joined by breaks. Other blocks are findings.
pub(crate) fn read_inline(text: &Located<String>, findings: &mut Findings) -> Vec<Inline> {
    let mut all = Vec::new();
    for block in read(&text.value, text.span, findings) {
        if let ProseBlock::Paragraph(inlines, _) = block {
            if !all.is_empty() {
                all.push(Inline::Break);
            }
            all.extend(inlines);
        } else {
            findings.push(
                Finding::new(
                    &rules::UNREAD_MARKDOWN,
                    "this text should be a sentence or two",
                )
                .primary(text.span, "has a list, heading or quotation in it"),
            );
        }
    }
    all
}

/// The deepest nesting of blocks that is read. It prevents a stack overflow.
const MAX_DEPTH: usize = 32;

struct Reader<'t, 'f, I: Iterator<Item = (Event<'t>, Range<usize>)>> {
    text: &'t str,
    span: Span,
    findings: &'f mut Findings,
    /// The current depth of nested blocks.
    depth: usize,
    events: std::iter::Peekable<I>,
}

impl<'t, I: Iterator<Item = (Event<'t>, Range<usize>)>> Reader<'t, '_, I> {
    /// The span of a range of the text.
    ///
    /// Text from TOML with escapes differs in length from its source. Its ranges have the span of the
    /// whole field.
    fn place(&self, range: Range<usize>) -> Span {
        if self.span.len() == self.text.len() {
            self.span.part(range)
        } else {
            self.span
        }
    }

    fn unread(&mut self, what: &str, range: Range<usize>) {
        let span = self.place(range);
        self.findings.push(
            Finding::new(&rules::UNREAD_MARKDOWN, format!("{what} is not read"))
                .primary(span, "")
                .help("write it as a paragraph, a list or a `##` section"),
        );
    }

    fn block(&mut self, event: Event<'t>, range: Range<usize>, into: &mut Vec<ProseBlock>) {
        match event {
            Event::Start(Tag::Paragraph) => {
                let inlines = self.inlines(TagEnd::Paragraph);
                into.push(ProseBlock::Paragraph(inlines, self.place(range)));
            }
            Event::Start(Tag::Heading {
                level,
                id,
                classes,
                attrs,
            }) => {
                let text = self.inlines(TagEnd::Heading(level));
                let id = id.iter().map(|id| format!("#{id}"));
                let attributes = attrs.iter().map(|(name, _)| name.to_string());
                into.push(ProseBlock::Heading(Heading {
                    level: level as u8,
                    text,
                    classes: classes.iter().map(ToString::to_string).collect(),
                    others: id.chain(attributes).collect(),
                    span: self.place(trim_end(self.text, range)),
                }));
            }
            Event::Start(Tag::BlockQuote(kind)) => {
                let blocks = self.blocks(TagEnd::BlockQuote(kind));
                into.push(ProseBlock::Quote(
                    blocks,
                    self.place(trim_end(self.text, range)),
                ));
            }
            Event::Start(Tag::List(first)) => {
                let list = self.list(first.is_some());
                into.push(ProseBlock::List(list));
            }
            Event::Start(Tag::CodeBlock(_)) => {
                self.skip(TagEnd::CodeBlock);
                self.unread("a code block", range);
            }
            Event::Start(Tag::HtmlBlock) => {
                self.skip(TagEnd::HtmlBlock);
                if !is_comment(&self.text[range.clone()]) {
                    self.unread("HTML", range);
                }
            }
            Event::Rule => {}
            Event::Start(tag @ (Tag::Table(_) | Tag::FootnoteDefinition(_))) => {
                let what = match tag {
                    Tag::Table(_) => "a table",
                    _ => "a footnote",
                };
                self.skip(tag.to_end());
                self.unread(what, range);
            }
            // Inlines directly in an item of a tight list.
            other => {
                let start = range.start;
                let (inlines, end) = self.loose_inlines(other, range);
                into.push(ProseBlock::Paragraph(inlines, self.place(start..end)));
            }
        }
    }

    fn blocks(&mut self, end: TagEnd) -> Vec<ProseBlock> {
        let mut blocks = Vec::new();
        if self.depth > MAX_DEPTH {
            self.skip_nested(end);
            return blocks;
        }
        self.depth += 1;
        while let Some((event, range)) = self.events.next() {
            if event == Event::End(end) {
                break;
            }
            self.block(event, range, &mut blocks);
        }
        self.depth -= 1;
        blocks
    }

    /// Skips a block that may hold others of its kind, and reports it.
    fn skip_nested(&mut self, end: TagEnd) {
        let mut open = 1_usize;
        let mut last = 0..0;
        for (event, range) in self.events.by_ref() {
            match event {
                Event::Start(tag) if tag.to_end() == end => open += 1,
                Event::End(tag) if tag == end => open -= 1,
                _ => {}
            }
            last = range;
            if open == 0 {
                break;
            }
        }
        self.unread("text nested this deep", last);
    }

    fn list(&mut self, numbered: bool) -> List {
        let mut items = Vec::new();
        while let Some((event, range)) = self.events.next() {
            match event {
                Event::Start(Tag::Item) => {
                    let blocks = self.blocks(TagEnd::Item);
                    let span = self.place(trim_end(self.text, range));
                    items.push(Item { blocks, span });
                }
                Event::End(TagEnd::List(_)) => break,
                _ => {}
            }
        }
        List { numbered, items }
    }

    fn skip(&mut self, end: TagEnd) {
        for (event, _) in self.events.by_ref() {
            if event == Event::End(end) {
                break;
            }
        }
    }

    /// The inlines of a tight list item, which has no paragraph, up to the next block.
    fn loose_inlines(&mut self, first: Event<'t>, range: Range<usize>) -> (Vec<Inline>, usize) {
        let mut inlines = Vec::with_capacity(1);
        let mut end = range.end;
        self.inline(first, range, &mut inlines);
        while let Some((event, _)) = self.events.peek() {
            let ends = match event {
                Event::End(_) | Event::Rule => true,
                Event::Start(tag) => !matches!(
                    tag,
                    Tag::Emphasis | Tag::Strong | Tag::Link { .. } | Tag::Image { .. }
                ),
                _ => false,
            };
            if ends {
                break;
            }
            if let Some((event, range)) = self.events.next() {
                end = range.end;
                self.inline(event, range, &mut inlines);
            }
        }
        inlines.shrink_to_fit();
        (inlines, end)
    }

    /// The inlines up to an end. The list has no spare capacity: a tree has very many lists, and most
    /// have one inline.
    fn inlines(&mut self, end: TagEnd) -> Vec<Inline> {
        let mut inlines = Vec::with_capacity(1);
        while let Some((event, range)) = self.events.next() {
            if event == Event::End(end) {
                break;
            }
            self.inline(event, range, &mut inlines);
        }
        inlines.shrink_to_fit();
        inlines
    }

    fn inline(&mut self, event: Event<'t>, range: Range<usize>, into: &mut Vec<Inline>) {
        match event {
            Event::Text(text) => {
                if has_unparsed_action(&text) {
                    self.unread("an action inside another's text", range);
                }
                push_text(into, &text);
            }
            Event::Code(text) => into.push(Inline::Code(text.to_string())),
            Event::SoftBreak => push_text(into, " "),
            Event::HardBreak => into.push(Inline::Break),
            Event::InlineHtml(html) if !is_comment(&html) => self.unread("HTML", range),
            Event::Start(Tag::Strong) => {
                let parts = self.inlines(TagEnd::Strong);
                into.push(Inline::Strong(parts));
            }
            Event::Start(Tag::Emphasis) => {
                let parts = self.inlines(TagEnd::Emphasis);
                into.push(Inline::Emphasis(parts));
            }
            Event::Start(Tag::Link {
                link_type,
                dest_url,
                ..
            }) => {
                let parts = self.inlines(TagEnd::Link);
                // The text of `<remove:cover>` is its address.
                let parts = match link_type {
                    pulldown_cmark::LinkType::Autolink if Verb::find_in(&dest_url).is_some() => {
                        Vec::new()
                    }
                    _ => parts,
                };
                let link = self.link(&dest_url, range, parts);
                into.push(link);
            }
            Event::Start(Tag::Image {
                dest_url, title, ..
            }) => {
                let alt = super::plain(&self.inlines(TagEnd::Image));
                let span = self.place(range.clone());
                let path = self.address_place(&dest_url, range);
                let caption = (!title.is_empty()).then(|| title.to_string());
                if alt.trim().is_empty() {
                    self.findings.push(
                        Finding::new(
                            &rules::FIGURE_WITHOUT_TEXT,
                            "a figure has no text for those who can't see it",
                        )
                        .primary(span, "")
                        .help("say what it shows: `![the rod in the outer hole](…)`"),
                    );
                }
                into.push(Inline::Image(Box::new(Image {
                    path: Located {
                        value: dest_url.to_string(),
                        span: path,
                    },
                    alt,
                    caption,
                    span,
                })));
            }
            Event::Start(Tag::Strikethrough) => {
                self.skip(TagEnd::Strikethrough);
                self.unread("struck-out text", range);
            }
            Event::FootnoteReference(_) => self.unread("a footnote", range),
            Event::TaskListMarker(_) => self.unread("a box to tick", range),
            Event::Start(tag) => {
                self.skip(tag.to_end());
                self.unread("this", range);
            }
            _ => {}
        }
    }

    /// The span of a link's address: its last occurrence in the link.
    fn address_place(&self, address: &str, range: Range<usize>) -> Span {
        let link = self.text.get(range.clone()).unwrap_or_default();
        // It is at the end of most links.
        let before = link
            .strip_suffix(')')
            .and_then(|link| link.strip_suffix(address));
        let found = match before.filter(|_| !address.ends_with(')')) {
            Some(before) => Some(before.len()),
            None => link.rfind(address),
        };
        match found.filter(|_| !address.is_empty()) {
            Some(at) => {
                let start = range.start + at;
                self.place(start..start + address.len())
            }
            None => self.place(range),
        }
    }

    fn link(&mut self, address: &str, range: Range<usize>, parts: Vec<Inline>) -> Inline {
        let at = self.address_place(address, range.clone());
        let located = |value: &str, span: Span| Located {
            value: value.to_owned(),
            span,
        };
        let Some((scheme, rest)) = address.split_once(':') else {
            return Inline::Link(Box::new(located(address, at)), parts);
        };
        if let Some(verb) = Verb::find(scheme) {
            let thing_span = if at.len() == address.len() {
                at.part(scheme.len() + 1..address.len())
            } else {
                at
            };
            let action = ActionLink {
                verb,
                thing: located(rest, thing_span),
                span: self.place(range),
            };
            return Inline::Action(Box::new(action), parts);
        }
        if !matches!(scheme, "http" | "https" | "mailto" | "tel") {
            let known = Verb::ALL.iter().map(|verb| verb.word());
            let scheme_span = if at.len() == address.len() {
                at.part(0..scheme.len())
            } else {
                at
            };
            self.findings.push(
                Finding::new(&rules::UNKNOWN_VERB, format!("`{scheme}` is not a verb"))
                    .primary(scheme_span, "")
                    .suggest(nearest(scheme, known)),
            );
        }
        Inline::Link(Box::new(located(address, at)), parts)
    }
}

impl Verb {
    fn find_in(address: &str) -> Option<Verb> {
        address
            .split_once(':')
            .and_then(|(word, _)| Verb::find(word))
    }
}

/// Whether text has an action that was not parsed: Markdown has no links within links.
fn has_unparsed_action(text: &str) -> bool {
    text.contains(']')
        && text
            .split('(')
            .skip(1)
            .any(|address| Verb::find_in(address).is_some())
}

/// Whether HTML is a comment, which is dropped without a finding.
fn is_comment(html: &str) -> bool {
    let html = html.trim();
    html.starts_with("<!--") && html.ends_with("-->")
}

/// Appends text. The parser splits text into pieces. The marks at a step's end are read from the
/// joined text.
fn push_text(into: &mut Vec<Inline>, text: &str) {
    if let Some(Inline::Text(last)) = into.last_mut() {
        last.push_str(text);
    } else {
        into.push(Inline::Text(text.to_owned()));
    }
}

fn trim_end(text: &str, range: Range<usize>) -> Range<usize> {
    let trimmed = text
        .get(range.clone())
        .map_or(0, |part| part.trim_end().len());
    range.start..range.start + trimmed
}
