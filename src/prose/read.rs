//! Converts CommonMark events to blocks.

use super::rules;
use super::text::{is_comment, is_end, normalised, trim_end};
use super::unread::Unread;
use super::unread_text;
use super::{Heading, Inline, Item, List, ProseBlock};
use crate::finding::{Finding, Findings, Located, Span};
use crate::tree::{OVER_LIMIT, invisible, invisible_character};
use pulldown_cmark::{Event, Options, Parser, Tag, TagEnd};
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

/// An event with its range of the text; none at the end.
type NextEvent<'t> = Option<(Event<'t>, Range<usize>)>;

pub(super) struct Reader<'t, 'f, I: Iterator<Item = (Event<'t>, Range<usize>)>> {
    pub(super) text: &'t str,
    pub(super) span: Span,
    pub(super) findings: &'f mut Findings,
    /// The current depth of nested blocks.
    depth: usize,
    /// The current depth of nested inlines.
    pub(super) inline_depth: usize,
    /// The labels of the link definitions that links use.
    pub(super) used: BTreeSet<String>,
    /// The end of the last text that was reported as an unread link. Its pieces are not reported again.
    pub(super) read_until: usize,
    pub(super) events: I,
}

impl<'t, I: Iterator<Item = (Event<'t>, Range<usize>)>> Reader<'t, '_, I> {
    /// Converts a range of the text to a span.
    ///
    /// A TOML string with escapes differs in length from its source, so offsets in it are not offsets in the source.
    /// Its ranges get the span of the whole field.
    pub(super) fn span(&self, range: Range<usize>) -> Span {
        if self.span.len() == self.text.len() {
            self.span.part(range)
        } else {
            self.span
        }
    }

    /// Reports Markdown that is not supported.
    pub(super) fn report_unread(&mut self, what: &str, range: Range<usize>) {
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
    pub(super) fn report_unread_link(&mut self, unread: Unread) {
        self.read_until = self.read_until.max(unread.range.end);
        let is_exact = self.span.len() == self.text.len();
        let span = self.span(unread.range.clone());
        self.findings.push(unread.finding(span, is_exact));
    }

    /// Reports links in a range that the parser returned as plain text.
    pub(super) fn check_text(&mut self, range: Range<usize>) {
        // The parser splits text, and an unread link can have several pieces.
        let range = range.start.max(self.read_until)..range.end;
        for unread in unread_text::find(self.text, range) {
            self.report_unread_link(unread);
        }
    }

    /// Reports a character reference, such as `&#x202e;`, that stands for an invisible character. One that is typed
    /// itself is reported when its file is read.
    pub(super) fn check_reference(&mut self, text: &str, range: Range<usize>) {
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
                let span = self.span(trim_end(self.text, range));
                blocks.push(ProseBlock::Paragraph(inlines, span));
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
            let message = format!("lists and quotations are nested more than {MAX_DEPTH} deep");
            let finding = Finding::new(&OVER_LIMIT, message).primary(self.span(range), "");
            self.findings
                .push(finding.help("write it with fewer levels: nobody can follow so many"));
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
    pub(super) fn skip_nested(&mut self, end: TagEnd) -> Range<usize> {
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

    pub(super) fn skip(&mut self, end: TagEnd) {
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
        self.inline_depth += 1;
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
        self.inline_depth -= 1;
        inlines.shrink_to_fit();
        (inlines, end, next)
    }
}
