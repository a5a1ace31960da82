//! CommonMark becomes blocks and inlines with actions in place.
//!
//! Comes in: Markdown text and where it stands. Goes out: [`Block`]s whose
//! links are told apart into plain links and [`Action`]s; every one knows its
//! place. It knows the verbs but no shop: whether the thing exists is `job`'s
//! to say.

mod read;
mod rules;
mod verb;

use crate::finding::{Located, Span};
pub use read::{read, read_inline};
pub use rules::{RULES, UNREAD_MARKDOWN};
pub(crate) use verb::each_verb;
pub use verb::{ThingKind, Verb};

/// A link whose scheme is a verb: what is done to which thing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Action {
    /// What is done.
    pub verb: Verb,
    /// To what: the address behind the verb.
    pub thing: Located<String>,
    /// The whole link.
    pub span: Span,
}

/// A stretch of text.
///
/// A tree holds very many, most of them plain text: what takes more room than that stands in a box.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Inline {
    /// Plain text.
    Text(String),
    /// Text as typed or engraved.
    Code(String),
    /// Strongly stressed.
    Strong(Vec<Inline>),
    /// Stressed.
    Emphasis(Vec<Inline>),
    /// A line break the author asked for.
    Break,
    /// A link to an address.
    Link(Box<Located<String>>, Vec<Inline>),
    /// An action and its text, which may be empty.
    Action(Box<Action>, Vec<Inline>),
    /// A figure.
    Image(Box<Image>),
}

/// A figure in the text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Image {
    /// Its path, from the file it is named in.
    pub path: Located<String>,
    /// What it shows.
    pub alt: String,
    /// What stands below it.
    pub caption: Option<String>,
    /// The whole image.
    pub span: Span,
}

/// A block of text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Block {
    /// A heading.
    Heading(Heading),
    /// A paragraph.
    Paragraph(Vec<Inline>, Span),
    /// A list.
    List(List),
    /// A quotation, which holds cautions.
    Quote(Vec<Block>, Span),
}

/// A heading.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Heading {
    /// 1 to 6.
    pub level: u8,
    /// Its text.
    pub text: Vec<Inline>,
    /// Its `.classes`.
    pub classes: Vec<String>,
    /// Whatever else stands in its braces: `#id`, names of attributes.
    pub others: Vec<String>,
    /// All of it.
    pub span: Span,
}

/// A list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct List {
    /// Whether its items are numbered, and so are steps.
    pub numbered: bool,
    /// Its items.
    pub items: Vec<Item>,
}

/// A list's item.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Item {
    /// What it holds.
    pub blocks: Vec<Block>,
    /// All of it.
    pub span: Span,
}

/// The text without its dress: for titles and messages.
#[must_use]
pub fn plain(inlines: &[Inline]) -> String {
    fn write(inlines: &[Inline], text: &mut String) {
        for inline in inlines {
            match inline {
                Inline::Text(part) | Inline::Code(part) => text.push_str(part),
                Inline::Break => text.push(' '),
                Inline::Strong(parts)
                | Inline::Emphasis(parts)
                | Inline::Link(_, parts)
                | Inline::Action(_, parts) => write(parts, text),
                Inline::Image(image) => text.push_str(&image.alt),
            }
        }
    }
    let mut text = String::new();
    write(inlines, &mut text);
    text
}

/// Every action in some text, in reading order.
#[must_use]
pub fn actions(inlines: &[Inline]) -> Actions<'_> {
    Actions {
        inlines: inlines.iter(),
        around: Vec::new(),
    }
}

/// See [`actions`].
#[derive(Clone, Debug)]
pub struct Actions<'p> {
    inlines: std::slice::Iter<'p, Inline>,
    /// What is still to come of the texts around these inlines, the nearest last.
    around: Vec<std::slice::Iter<'p, Inline>>,
}

impl<'p> Iterator for Actions<'p> {
    type Item = &'p Action;

    fn next(&mut self) -> Option<&'p Action> {
        loop {
            let Some(inline) = self.inlines.next() else {
                self.inlines = self.around.pop()?;
                continue;
            };
            let (action, parts) = match inline {
                Inline::Action(action, parts) => (Some(&**action), parts),
                Inline::Strong(parts) | Inline::Emphasis(parts) | Inline::Link(_, parts) => {
                    (None, parts)
                }
                Inline::Text(_) | Inline::Code(_) | Inline::Break | Inline::Image(_) => continue,
            };
            // Nearly all hold plain text, which has nothing in it to come back from.
            if !parts.iter().all(|part| matches!(part, Inline::Text(_))) {
                let outer = std::mem::replace(&mut self.inlines, parts.iter());
                self.around.push(outer);
            }
            if action.is_some() {
                return action;
            }
        }
    }
}
