//! The manual pages of rules as blocks, for the site and for the appendix of a manual.
//!
//! A page is the doc comment of its rule, in Markdown. It is English text of the program, and not of the shop. On a page
//! in another language it is marked as English, and only its headings are translated.

use crate::finding::{Family, Rule};
use crate::page::{Block, Cell, LinkTarget, Listing, TextRun, plain};
use crate::rules::{self, OwnLevel, own_level};
use crate::shop::Shop;
use crate::words::{DEFAULT_LANGUAGE, Words};
use pulldown_cmark::{Event, Parser, Tag, TagEnd};
use std::cmp::Reverse;

/// Writes the manual pages of rules in the frame of one language.
pub(crate) struct RuleWriter<'w> {
    shop: &'w Shop,
    words: &'w Words,
    /// By name.
    rules: Vec<&'static Rule>,
    english: EnglishText,
}

/// How English text is told from the other text of a page.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum EnglishText {
    /// Not at all: the page is English, or text without marks is in the shop's language, which is English.
    Plain,
    /// As the page's own text: the page is English, and the shop's text is not.
    Own,
    /// As text in a third language.
    Foreign,
}

impl EnglishText {
    fn on_page(words: &Words) -> EnglishText {
        let primary = |tag: &str| tag.split('-').next().unwrap_or_default().to_lowercase();
        let is_english = |tag: &str| primary(tag) == primary(DEFAULT_LANGUAGE);
        match words.author() {
            Some(author) if is_english(author) => EnglishText::Plain,
            Some(_) if is_english(words.language()) => EnglishText::Own,
            None if is_english(words.language()) => EnglishText::Plain,
            _ => EnglishText::Foreign,
        }
    }
}

impl<'w> RuleWriter<'w> {
    pub(crate) fn new(shop: &'w Shop, words: &'w Words) -> RuleWriter<'w> {
        RuleWriter {
            shop,
            words,
            rules: rules::all(),
            english: EnglishText::on_page(words),
        }
    }

    /// A rule's name, as a title.
    pub(crate) fn name(&self, rule: &Rule) -> String {
        self.english_text(rule.name)
    }

    /// A rule's level, as printed beside its name.
    pub(crate) fn level(&self, rule: &Rule) -> String {
        self.english_text(&rule.level.to_string())
    }

    /// A rule's manual page, without its name and its level.
    pub(crate) fn blocks(&self, rule: &Rule) -> Vec<Block> {
        let mut reader = Reader {
            writer: self,
            rule,
            blocks: Vec::new(),
            label: None,
            open: Vec::new(),
            items: Vec::new(),
            code: None,
        };
        let markdown = rule.markdown();
        for event in Parser::new(&markdown) {
            reader.read(event);
        }
        let mut blocks = reader.blocks;
        if let Some(own) = own_level(self.shop, rule) {
            // After the sentence that says what the rule finds.
            let at = blocks.len().min(1);
            blocks.insert(at, self.own_level(&own));
        }
        blocks
    }

    /// The line that says which level the shop has set.
    fn own_level(&self, own: &OwnLevel<'_>) -> Block {
        let label = label(self.words.get("rules-here"));
        let level = TextRun::Code {
            text: self.english_text(&own.level_name()),
        };
        let reason = own
            .reason
            .map(|reason| TextRun::text(format!(": {reason}")));
        let runs = label.into_iter().chain([level]).chain(reason);
        Block::Text {
            runs: runs.collect(),
        }
    }

    /// A rule's row in a table: its name, its level, and what it finds.
    pub(super) fn row(&self, rule: &Rule) -> Vec<Cell> {
        let code = |text: &str| TextRun::Code {
            text: self.english_text(text),
        };
        let name = TextRun::link(LinkTarget::rule(rule), vec![TextRun::text(self.name(rule))]);
        let level = rule.level.to_string();
        let level = match own_level(self.shop, rule) {
            None => vec![code(&level)],
            Some(own) => {
                let default = self.words.format("rules-default", &[("level", &level)]);
                vec![
                    code(&own.level_name()),
                    TextRun::text(format!(" ({default})")),
                ]
            }
        };
        let summary = inlines(rule.summary()).into_iter().map(|run| match run {
            TextRun::Text { text } => TextRun::text(self.english_text(&text)),
            TextRun::Code { text } => code(&text),
            run => run,
        });
        vec![
            Cell::Text { runs: vec![name] },
            Cell::Text { runs: level },
            Cell::Text {
                runs: self.english(summary.collect()),
            },
        ]
    }

    fn english_text(&self, text: &str) -> String {
        match self.english {
            EnglishText::Own => self.words.own(text).into_owned(),
            EnglishText::Plain | EnglishText::Foreign => text.to_owned(),
        }
    }

    fn english(&self, runs: Vec<TextRun>) -> Vec<TextRun> {
        match self.english {
            EnglishText::Foreign => vec![TextRun::Foreign {
                language: DEFAULT_LANGUAGE.to_owned(),
                runs,
            }],
            EnglishText::Plain | EnglishText::Own => runs,
        }
    }

    /// The lines of an example, which are the files of a small shop. The form is described in `tests/rules.rs`.
    fn listings(&self, example: &str) -> Vec<Block> {
        let mut blocks: Vec<Block> = Vec::new();
        let note = |text: String| Block::Text {
            runs: vec![TextRun::text(text)],
        };
        let listing = |caption: Option<String>| {
            Block::Listing(Listing {
                caption,
                text: String::new(),
                language: (self.english == EnglishText::Foreign)
                    .then(|| DEFAULT_LANGUAGE.to_owned()),
            })
        };
        for line in example.lines() {
            match line.strip_prefix("=== ") {
                Some("bare") => blocks.push(note(self.words.get("rules-bare").to_owned())),
                Some(directive) => {
                    if let Some(day) = directive.strip_prefix("on ") {
                        blocks.push(note(self.words.format("rules-on-day", &[("day", day)])));
                    } else if let Some(file) = directive.strip_prefix("+ ") {
                        let file = self.english_text(file);
                        let caption = self.words.format("rules-added", &[("file", &file)]);
                        blocks.push(listing(Some(caption)));
                    } else {
                        blocks.push(listing(Some(self.english_text(directive))));
                    }
                }
                None => {
                    if !matches!(blocks.last(), Some(Block::Listing(_))) {
                        blocks.push(listing(None));
                    }
                    if let Some(Block::Listing(listing)) = blocks.last_mut() {
                        listing.text.push_str(line);
                        listing.text.push('\n');
                    }
                }
            }
        }
        for block in &mut blocks {
            if let Block::Listing(listing) = block {
                listing.text = self.english_text(listing.text.trim_end());
            }
        }
        blocks
    }
}

/// A short text in bold that begins a line, as a heading does.
fn label(text: &str) -> [TextRun; 2] {
    let text = vec![TextRun::text(format!("{text}:"))];
    [TextRun::Strong { runs: text }, TextRun::text(" ")]
}

/// The rules of a family: the worst level first, then by name.
pub(crate) fn rules_of(family: Family) -> Vec<&'static Rule> {
    let mut rules = rules::all();
    rules.retain(|rule| rule.family == family);
    rules.sort_by_key(|rule| Reverse(rule.level));
    rules
}

/// What a rule finds, without markup.
pub(super) fn summary(rule: &Rule) -> String {
    plain(&inlines(rule.summary()))
}

/// The runs of a line of Markdown.
fn inlines(markdown: &str) -> Vec<TextRun> {
    let runs = Parser::new(markdown).filter_map(|event| match event {
        Event::Text(text) => Some(TextRun::text(text.into_string())),
        Event::Code(text) => Some(TextRun::Code {
            text: text.into_string(),
        }),
        _ => None,
    });
    runs.collect()
}

/// Converts the events of a manual page to blocks. What a page can't have is left out; a test wants every word of every
/// page in its blocks.
struct Reader<'r, 'w> {
    writer: &'r RuleWriter<'w>,
    rule: &'r Rule,
    blocks: Vec<Block>,
    /// The heading that the next block begins with.
    label: Option<String>,
    /// The runs of the open paragraph, item and emphasis, the innermost last.
    open: Vec<Vec<TextRun>>,
    items: Vec<Vec<TextRun>>,
    /// The lines of an open code block.
    code: Option<String>,
}

impl Reader<'_, '_> {
    fn read(&mut self, event: Event<'_>) {
        match event {
            Event::Start(Tag::CodeBlock(_)) => self.code = Some(String::new()),
            Event::Start(
                Tag::Paragraph
                | Tag::Heading { .. }
                | Tag::Item
                | Tag::Strong
                | Tag::Emphasis
                | Tag::Link { .. },
            ) => self.open.push(Vec::new()),
            Event::End(end) => self.end(end),
            Event::Text(text) => match &mut self.code {
                Some(code) => code.push_str(&text),
                None => self.push_text(&text),
            },
            Event::Code(text) => {
                let run = self.code_run(&text);
                self.push(run);
            }
            Event::SoftBreak => self.push_text(" "),
            Event::HardBreak => self.push(TextRun::Break),
            _ => {}
        }
    }

    fn end(&mut self, end: TagEnd) {
        match end {
            TagEnd::CodeBlock => {
                let listings = self.writer.listings(&self.code.take().unwrap_or_default());
                if let Some(label) = self.label.take() {
                    let [label, _] = self::label(&label);
                    self.blocks.push(Block::Text { runs: vec![label] });
                }
                self.blocks.extend(listings);
            }
            TagEnd::List(_) => {
                let items = std::mem::take(&mut self.items).into_iter();
                let items = items.map(|item| self.writer.english(item)).collect();
                self.blocks.push(Block::Bullets { items });
            }
            TagEnd::Paragraph if self.open.len() == 1 => {
                let runs = self.open.pop().unwrap_or_default();
                let label = self.label.take();
                let label = label.map(|label| self::label(&label));
                let runs = label
                    .into_iter()
                    .flatten()
                    .chain(self.writer.english(runs))
                    .collect();
                self.blocks.push(Block::Text { runs });
            }
            TagEnd::Heading(_) => {
                let title = plain(&self.open.pop().unwrap_or_default());
                self.label = Some(self.heading(&title));
            }
            TagEnd::Item => {
                let runs = self.open.pop().unwrap_or_default();
                self.items.push(runs);
            }
            TagEnd::Strong | TagEnd::Emphasis => {
                let runs = self.open.pop().unwrap_or_default();
                self.push(if end == TagEnd::Strong {
                    TextRun::Strong { runs }
                } else {
                    TextRun::Emphasis { runs }
                });
            }
            // A paragraph in an item, or a link, whose text is kept.
            TagEnd::Paragraph | TagEnd::Link => {
                let runs = self.open.pop().unwrap_or_default();
                for run in runs {
                    self.push(run);
                }
            }
            _ => {}
        }
    }

    fn push(&mut self, run: TextRun) {
        if let Some(runs) = self.open.last_mut() {
            runs.push(run);
        }
    }

    fn push_text(&mut self, text: &str) {
        let text = self.writer.english_text(text);
        // The parser returns a text in pieces.
        if let Some(TextRun::Text { text: last }) =
            self.open.last_mut().and_then(|runs| runs.last_mut())
        {
            last.push_str(&text);
        } else {
            self.push(TextRun::text(text));
        }
    }

    /// Code, which is a link if it is the name of another rule.
    fn code_run(&self, text: &str) -> TextRun {
        let code = TextRun::Code {
            text: self.writer.english_text(text),
        };
        let rules = &self.writer.rules;
        let rule = rules.binary_search_by_key(&text, |rule| rule.name);
        match rule.map(|index| rules[index]) {
            Ok(rule) if rule.name != self.rule.name => {
                TextRun::link(LinkTarget::rule(rule), vec![code])
            }
            _ => code,
        }
    }

    /// A heading of [`Rule::PARTS`] in the language of the page.
    fn heading(&self, title: &str) -> String {
        let words = self.writer.words;
        let texts = [
            words.get("rules-at-the-bench"),
            words.get("rules-example"),
            words.get("rules-fix"),
        ];
        let mut parts = Rule::PARTS.iter().zip(texts);
        let part = parts.find(|(part, _)| part.trim_start_matches('#').trim() == title);
        part.map_or(title, |(_, text)| text).to_owned()
    }
}

#[cfg(test)]
mod tests;
