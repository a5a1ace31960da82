//! Reads CommonMark as blocks and inlines.
//!
//! In: Markdown text and its span. Out: [`ProseBlock`]s in which links are either plain links or [`ActionLink`]s,
//! each with its span. This module knows the list of verbs but never resolves the names of things: `job` does.

mod inlines;
mod read;
mod rules;
mod text;
mod unread;
mod unread_text;
mod verb;

use crate::finding::{Located, Span};
pub(crate) use read::{read, read_inline};
pub(crate) use rules::{RULES, UNREAD_LINK, UNSUPPORTED_MARKDOWN};
pub(crate) use unread::{has_action, is_action};
pub(crate) use verb::each_verb;
pub(crate) use verb::{ThingKind, Verb};

/// A link whose scheme is a verb, such as `[Take it off](remove:cover)`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct ActionLink {
    pub(crate) verb: Verb,
    /// The part of the address after the colon: the name of a thing.
    pub(crate) thing: Located<String>,
    /// Of the whole link.
    pub(crate) span: Span,
}

/// A piece of text within a block.
///
/// Most inlines are plain text, so larger variants are boxed to keep the type small.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Inline {
    Text(String),
    /// Text that is to be read literally, such as an engraving.
    Code(String),
    Strong(Vec<Inline>),
    Emphasis(Vec<Inline>),
    /// A hard line break.
    Break,
    /// A link that is not an action: its address and text.
    Link(Box<Located<String>>, Vec<Inline>),
    /// An action and its text, which may be empty.
    Action(Box<ActionLink>, Vec<Inline>),
    Image(Box<Image>),
}

/// A figure.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Image {
    /// As written: relative to the folder of the file.
    pub(crate) path: Located<String>,
    /// The text for readers who can't see the figure. An empty one is reported.
    pub(crate) alt: String,
    /// The title in the Markdown, printed as a caption.
    pub(crate) caption: Option<String>,
    /// Of the whole image.
    pub(crate) span: Span,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum ProseBlock {
    Heading(Heading),
    Paragraph(Vec<Inline>, Span),
    List(List),
    /// A block quote. `procedure` reads cautions and notes in it.
    Quote(Vec<ProseBlock>, Span),
    /// A block quote that was read as a note.
    Note(Note),
}

/// Information that is neither an instruction nor a safety message: a block quote that begins with `Note:`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Note {
    /// Its paragraphs, without the word. Their only actions are references.
    pub(crate) paragraphs: Vec<Vec<Inline>>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Heading {
    /// 1 to 6.
    pub(crate) level: u8,
    pub(crate) text: Vec<Inline>,
    /// The classes in its attributes, without the dot: `reverse` for `{.reverse}`.
    pub(crate) classes: Vec<String>,
    /// The other attributes, as written: `#id` and names.
    pub(crate) others: Vec<String>,
    pub(crate) span: Span,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct List {
    /// Whether it is numbered. If so, its items are steps.
    pub(crate) numbered: bool,
    pub(crate) items: Vec<Item>,
}

/// An item of a [`List`].
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Item {
    pub(crate) blocks: Vec<ProseBlock>,
    pub(crate) span: Span,
}

/// The text of inlines without markup, for titles and messages.
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

/// The actions in inlines, at any depth, in reading order.
#[must_use]
pub(crate) fn actions(inlines: &[Inline]) -> Actions<'_> {
    Actions {
        inlines: inlines.iter(),
        enclosing: Vec::new(),
    }
}

/// The iterator that [`actions`] returns.
#[derive(Clone, Debug)]
pub(crate) struct Actions<'p> {
    inlines: std::slice::Iter<'p, Inline>,
    /// The remaining siblings of each enclosing inline, innermost last.
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
            // Most inlines contain only plain text, which has no actions.
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
