//! Reads CommonMark as blocks and inlines.
//!
//! In: Markdown text and its span. Out: [`ProseBlock`]s in which links are either
//! plain links or [`ActionLink`]s, each with its span. This stage knows the verbs, but
//! no shop: `job` resolves the names of things.

mod read;
mod rules;
mod verb;

use crate::finding::{Located, Span};
pub(crate) use read::{read, read_inline};
pub(crate) use rules::{RULES, UNREAD_MARKDOWN};
pub(crate) use verb::each_verb;
pub(crate) use verb::{ThingKind, Verb};

/// A link whose scheme is a verb: what is done to a thing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct ActionLink {
    /// What is done.
    pub(crate) verb: Verb,
    /// The name of the thing: the rest of the address.
    pub(crate) thing: Located<String>,
    /// The span of the whole link.
    pub(crate) span: Span,
}

/// A piece of text within a block.
///
/// A tree has very many, and most are plain text. Larger variants are boxed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Inline {
    /// Plain text.
    Text(String),
    /// Code: text as it is typed or engraved.
    Code(String),
    /// Strong emphasis.
    Strong(Vec<Inline>),
    /// Emphasis.
    Emphasis(Vec<Inline>),
    /// A hard line break.
    Break,
    /// A link to an address.
    Link(Box<Located<String>>, Vec<Inline>),
    /// An action and its text, which may be empty.
    Action(Box<ActionLink>, Vec<Inline>),
    /// A figure.
    Image(Box<Image>),
}

/// A figure in the text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Image {
    /// Its path, relative to the file that names it.
    pub(crate) path: Located<String>,
    /// The alternative text.
    pub(crate) alt: String,
    /// The caption.
    pub(crate) caption: Option<String>,
    /// The span of the whole image.
    pub(crate) span: Span,
}

/// A block of text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum ProseBlock {
    /// A heading.
    Heading(Heading),
    /// A paragraph.
    Paragraph(Vec<Inline>, Span),
    /// A list.
    List(List),
    /// A block quote, which holds cautions.
    Quote(Vec<ProseBlock>, Span),
}

/// A heading.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Heading {
    /// 1 to 6.
    pub(crate) level: u8,
    /// Its text.
    pub(crate) text: Vec<Inline>,
    /// The classes in its attributes, such as `.reverse`.
    pub(crate) classes: Vec<String>,
    /// What else is in its attributes: `#id`, other names.
    pub(crate) others: Vec<String>,
    /// All of it.
    pub(crate) span: Span,
}

/// A list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct List {
    /// Whether it is numbered. Its items are steps then.
    pub(crate) numbered: bool,
    /// Its items.
    pub(crate) items: Vec<Item>,
}

/// A list's item.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Item {
    /// What it holds.
    pub(crate) blocks: Vec<ProseBlock>,
    /// All of it.
    pub(crate) span: Span,
}

/// The plain text of some inlines, for titles and messages.
#[must_use]
pub(crate) fn plain(inlines: &[Inline]) -> String {
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

/// The actions in some inlines, in reading order.
#[must_use]
pub(crate) fn actions(inlines: &[Inline]) -> Actions<'_> {
    Actions {
        inlines: inlines.iter(),
        enclosing: Vec::new(),
    }
}

/// The iterator of [`actions`].
#[derive(Clone, Debug)]
pub(crate) struct Actions<'p> {
    inlines: std::slice::Iter<'p, Inline>,
    /// The rest of the enclosing inlines, the innermost last.
    enclosing: Vec<std::slice::Iter<'p, Inline>>,
}

impl<'p> Iterator for Actions<'p> {
    type Item = &'p ActionLink;

    fn next(&mut self) -> Option<&'p ActionLink> {
        loop {
            let Some(inline) = self.inlines.next() else {
                self.inlines = self.enclosing.pop()?;
                continue;
            };
            let (action, parts) = match inline {
                Inline::Action(action, parts) => (Some(&**action), parts),
                Inline::Strong(parts) | Inline::Emphasis(parts) | Inline::Link(_, parts) => {
                    (None, parts)
                }
                Inline::Text(_) | Inline::Code(_) | Inline::Break | Inline::Image(_) => continue,
            };
            // Most hold plain text only, which has no actions.
            if !parts.iter().all(|part| matches!(part, Inline::Text(_))) {
                let outer = std::mem::replace(&mut self.inlines, parts.iter());
                self.enclosing.push(outer);
            }
            if action.is_some() {
                return action;
            }
        }
    }
}
