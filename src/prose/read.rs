//! Converts CommonMark events to blocks.

use super::rules;
use super::text::{is_comment, is_end, normalised, push_text, trim_end};
use super::unread::{self, Unread};
use super::unread_text;
use super::{ActionLink, Heading, Image, Inline, Item, List, ProseBlock, Verb};
use crate::finding::{Finding, Findings, Located, Span};
use crate::tree::{invisible, invisible_character};
use pulldown_cmark::{Event, LinkType, Options, Parser, Tag, TagEnd};
use std::collections::BTreeSet;
use std::ops::Range;

/// Reads Markdown text. `span` is the position of the text in the sources.
pub(crate) fn read(text: &str, span: Span, findings: &mut Findings) -> Vec<ProseBlock> {
    // These extensions are parsed so that they can be refused. Otherwise their syntax would be printed.
    let options = Options::ENABLE_HEADING_ATTRIBUTES
        | Options::ENABLE_TABLES
        | Options::ENABLE_FOOTNOTES
        | Options::ENABLE_STRIKETHROUGH
        | Options::ENABLE_TASKLISTS;
    let parser = Parser::new_ext(text, options);
    let definitions: Vec<(String, Range<usize>)> = if text.contains("]:") {
        let definitions = parser.reference_definitions().iter();
        definitions
            .map(|(label, definition)| (normalised(label), definition.span.clone()))
            .collect()
    } else {
        Vec::new()
    };
    let mut reader = Reader {
        text,
        span,
        findings,
        depth: 0,
        inline_depth: 0,
        used: BTreeSet::new(),
        read_until: 0,
        events: parser.into_offset_iter(),
    };
    let mut blocks = Vec::new();
    let mut next = reader.events.next();
    while let Some((event, range)) = next {
        next = reader.block(event, range, &mut blocks);
    }
    reader.report_unused(definitions);
    blocks
}

/// Reads text that has no blocks, such as an instruction in a machine's file.
///
/// Paragraphs are joined by breaks. Other blocks are findings.
pub(crate) fn read_inline(text: &Located<String>, findings: &mut Findings) -> Vec<Inline> {
    let mut joined = Vec::new();
    for block in read(&text.value, text.span, findings) {
        if let ProseBlock::Paragraph(inlines, _) = block {
            if !joined.is_empty() {
                joined.push(Inline::Break);
            }
            joined.extend(inlines);
        } else {
            findings.push(
                Finding::new(
                    &rules::UNSUPPORTED_MARKDOWN,
                    "this text should be a sentence or two",
                )
                .primary(text.span, "contains a list, heading or quotation")
                .help("write it as sentences, without a list, a heading or a quotation"),
            );
        }
    }
    joined
}

/// The limit on nested blocks, which prevents a stack overflow.
const MAX_DEPTH: usize = 32;

/// The limit on emphasis and links in one another, which prevents a stack overflow here and in the page templates. Nobody
/// can read text in so many kinds of type.
const MAX_INLINE_DEPTH: usize = 8;

/// An event with its range of the text; none at the end.
type NextEvent<'t> = Option<(Event<'t>, Range<usize>)>;

struct Reader<'t, 'f, I: Iterator<Item = (Event<'t>, Range<usize>)>> {
    text: &'t str,
    span: Span,
    findings: &'f mut Findings,
    /// The current depth of nested blocks.
    depth: usize,
    /// The current depth of nested inlines.
    inline_depth: usize,
    /// The labels of the link definitions that links use.
    used: BTreeSet<String>,
    /// The end of the last text that was reported as an unread link. Its pieces are not reported again.
    read_until: usize,
    events: I,
}

impl<'t, I: Iterator<Item = (Event<'t>, Range<usize>)>> Reader<'t, '_, I> {
    /// Converts a range of the text to a span.
    ///
    /// A TOML string with escapes differs in length from its source, so offsets in it are not offsets in the source.
    /// Its ranges get the span of the whole field.
    fn span(&self, range: Range<usize>) -> Span {
        if self.span.len() == self.text.len() {
            self.span.part(range)
        } else {
            self.span
        }
    }

    /// Reports Markdown that is not supported.
    fn report_unread(&mut self, what: &str, range: Range<usize>) {
        let span = self.span(range);
        self.findings.push(
            Finding::new(
                &rules::UNSUPPORTED_MARKDOWN,
                format!("{what} is not supported"),
            )
            .primary(span, "")
            .help("write it as a paragraph, a list or a `##` section"),
        );
    }

    /// Reports text that should have been a link.
    fn report_unread_link(&mut self, unread: Unread) {
        self.read_until = self.read_until.max(unread.range.end);
        let is_exact = self.span.len() == self.text.len();
        let span = self.span(unread.range.clone());
        self.findings.push(unread.finding(span, is_exact));
    }

    /// Reports links in a range that the parser returned as plain text.
    fn check_text(&mut self, range: Range<usize>) {
        // The parser splits text, and an unread link can have several pieces.
        let range = range.start.max(self.read_until)..range.end;
        for unread in unread_text::find(self.text, range) {
            self.report_unread_link(unread);
        }
    }

    /// Reports a character reference, such as `&#x202e;`, that stands for an invisible character. One that is typed
    /// itself is reported when its file is read.
    fn check_reference(&mut self, text: &str, range: Range<usize>) {
        // Most texts are as they are typed.
        if text.len() == range.len() {
            return;
        }
        let typed = self.text.get(range.clone()).unwrap_or_default();
        if let Some((_, letter)) = invisible(text).filter(|(_, letter)| !typed.contains(*letter)) {
            let finding = invisible_character(letter, self.span(range));
            self.findings.push(finding);
        }
    }

    /// Reports the link definitions that no link uses.
    fn report_unused(&mut self, definitions: Vec<(String, Range<usize>)>) {
        for (label, range) in definitions {
            if !self.used.contains(&label) {
                let range = trim_end(self.text, range);
                let typed = self.text.get(range.clone()).unwrap_or_default();
                self.report_unread_link(Unread::definition(typed, range));
            }
        }
    }

    /// Reads the block that begins with an event, and returns the event after it.
    fn block(
        &mut self,
        event: Event<'t>,
        range: Range<usize>,
        blocks: &mut Vec<ProseBlock>,
    ) -> NextEvent<'t> {
        match event {
            Event::Start(Tag::Paragraph) => {
                let inlines = self.inlines(TagEnd::Paragraph);
                blocks.push(ProseBlock::Paragraph(inlines, self.span(range)));
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
                blocks.push(ProseBlock::Heading(Heading {
                    level: level as u8,
                    text,
                    classes: classes.iter().map(ToString::to_string).collect(),
                    others: id.chain(attributes).collect(),
                    span: self.span(trim_end(self.text, range)),
                }));
            }
            Event::Start(Tag::BlockQuote(kind)) => {
                let quoted = self.blocks(TagEnd::BlockQuote(kind));
                blocks.push(ProseBlock::Quote(
                    quoted,
                    self.span(trim_end(self.text, range)),
                ));
            }
            Event::Start(Tag::List(first)) => {
                let list = self.list(first.is_some());
                blocks.push(ProseBlock::List(list));
            }
            Event::Start(Tag::CodeBlock(_)) => {
                self.skip(TagEnd::CodeBlock);
                self.report_unread("a code block", range);
            }
            Event::Start(Tag::HtmlBlock) => {
                self.skip(TagEnd::HtmlBlock);
                if !is_comment(&self.text[range.clone()]) {
                    self.report_unread("HTML", range);
                }
            }
            Event::Rule => {}
            Event::Start(tag @ (Tag::Table(_) | Tag::FootnoteDefinition(_))) => {
                let what = match tag {
                    Tag::Table(_) => "a table",
                    _ => "a footnote",
                };
                self.skip(tag.to_end());
                self.report_unread(what, range);
            }
            // An item of a tight list contains inlines without a paragraph.
            inline => {
                let start = range.start;
                let (inlines, end, next) = self.tight_inlines(inline, range);
                blocks.push(ProseBlock::Paragraph(inlines, self.span(start..end)));
                return next;
            }
        }
        self.events.next()
    }

    fn blocks(&mut self, end: TagEnd) -> Vec<ProseBlock> {
        let mut blocks = Vec::new();
        if self.depth > MAX_DEPTH {
            let range = self.skip_nested(end);
            self.report_unread("text nested this deeply", range);
            return blocks;
        }
        self.depth += 1;
        let mut next = self.events.next();
        while let Some((event, range)) = next {
            if is_end(&event, end) {
                break;
            }
            next = self.block(event, range, &mut blocks);
        }
        self.depth -= 1;
        blocks
    }

    /// Skips a block or an inline that may contain others of the same kind, and returns its range.
    fn skip_nested(&mut self, end: TagEnd) -> Range<usize> {
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
        last
    }

    fn list(&mut self, numbered: bool) -> List {
        let mut items = Vec::new();
        while let Some((event, range)) = self.events.next() {
            match event {
                Event::Start(Tag::Item) => {
                    let blocks = self.blocks(TagEnd::Item);
                    let span = self.span(trim_end(self.text, range));
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
            if is_end(&event, end) {
                break;
            }
        }
    }

    /// Reads the inlines of a tight list item up to the next block, and returns them with the offset of
    /// their end and the event after them.
    fn tight_inlines(
        &mut self,
        first: Event<'t>,
        range: Range<usize>,
    ) -> (Vec<Inline>, usize, NextEvent<'t>) {
        let mut inlines = Vec::with_capacity(1);
        let mut end = range.end;
        self.inline(first, range, &mut inlines);
        let next = loop {
            let Some((event, range)) = self.events.next() else {
                break None;
            };
            let ends = match &event {
                Event::End(_) | Event::Rule => true,
                Event::Start(tag) => !matches!(
                    tag,
                    Tag::Emphasis | Tag::Strong | Tag::Link { .. } | Tag::Image { .. }
                ),
                _ => false,
            };
            if ends {
                break Some((event, range));
            }
            end = range.end;
            self.inline(event, range, &mut inlines);
        };
        inlines.shrink_to_fit();
        (inlines, end, next)
    }

    /// Reads the inlines up to `end`. The vector has no spare capacity, because a tree has very many of them and most
    /// contain one inline.
    fn inlines(&mut self, end: TagEnd) -> Vec<Inline> {
        if self.inline_depth > MAX_INLINE_DEPTH {
            let range = self.skip_nested(end);
            let message = format!(
                "emphasis and links nested more than {MAX_INLINE_DEPTH} deep are not supported"
            );
            let finding = Finding::new(&rules::UNSUPPORTED_MARKDOWN, message);
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

    fn inline(&mut self, event: Event<'t>, range: Range<usize>, inlines: &mut Vec<Inline>) {
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
