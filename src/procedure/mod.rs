//! Markdown files become [`Procedure`]s: sections, steps, actions, cautions.
//!
//! In: the tree's Markdown sources. Out: their content, with the span of every
//! field, step and action. A fault table is read as a procedure, too: its steps
//! are likely causes. This stage knows no shop and no machine: `job` resolves the
//! names.

mod cause;
mod caution;
mod read;
mod rules;
mod step;

use crate::finding::{FileId, Located, Span};
use crate::prose::{Action, Block, Image, Inline};
pub use cause::Cause;
pub use read::{read, read_faults};
pub use rules::RULES;

/// One procedure, or a fault table, as written.
#[derive(Clone, Debug)]
pub struct Procedure {
    /// Its id, its file's name.
    pub id: String,
    /// Its folder, the manual's chapter.
    pub system: String,
    /// Its file.
    pub file: FileId,
    /// Its path from the tree's root.
    pub path: String,
    /// Its title.
    pub title: Located<String>,
    /// The machines it is for.
    pub machines: Vec<Located<String>>,
    /// Minutes allowed for it alone.
    pub minutes: Option<u32>,
    /// How often it is due.
    pub interval: Option<String>,
    /// Done before it.
    pub begin: Vec<Located<String>>,
    /// Done after it.
    pub finish: Vec<Located<String>>,
    /// Its revision.
    pub revision: u32,
    /// The day of its revision, `YYYY-MM-DD`.
    pub revised: Option<String>,
    /// What it leaves undone on purpose, and why.
    pub leaves: Vec<(Located<String>, Located<String>)>,
    /// Where its Markdown stands, behind the front matter.
    pub body: Span,
    /// Why the job is done.
    pub why: Vec<Block>,
    /// Its sections.
    pub sections: Vec<Section>,
    /// Whether its front matter could be read whole; if not, no job is made of it.
    pub whole: bool,
}

impl Procedure {
    /// Its steps as written, in order.
    pub fn steps(&self) -> impl Iterator<Item = &Step> {
        self.sections.iter().flat_map(Section::steps)
    }
}

impl Section {
    /// Its steps as written, in order.
    pub fn steps(&self) -> impl Iterator<Item = &Step> {
        self.items.iter().filter_map(|item| match item {
            Item::Step(step) => Some(step),
            Item::Text(_) | Item::Figure(_) => None,
        })
    }
}

/// A section.
#[derive(Clone, Debug)]
pub struct Section {
    /// Its title, plain.
    pub title: String,
    /// Whether the way back is written by the compiler.
    pub reverse: bool,
    /// What stands below it.
    pub items: Vec<Item>,
    /// Its heading.
    pub span: Span,
}

/// Something in a section.
#[derive(Clone, Debug)]
pub enum Item {
    /// Text, a plain list.
    Text(Block),
    /// A figure by itself.
    Figure(Image),
    /// A step.
    Step(Step),
}

/// A step, as written.
#[derive(Clone, Debug)]
pub struct Step {
    /// Its id.
    pub id: Option<Located<String>>,
    /// Whether it goes where the machine lacks a thing it names.
    pub if_fitted: bool,
    /// The machines it is kept to.
    pub only: Vec<Located<String>>,
    /// Rules it breaks on purpose, and why: name and reason.
    pub excuses: Vec<(String, String)>,
    /// The cautions that stand above it.
    pub cautions: Vec<Action>,
    /// Its first paragraph.
    pub text: Vec<Inline>,
    /// Further paragraphs and points.
    pub notes: Vec<Vec<Inline>>,
    /// Its figures.
    pub figures: Vec<Image>,
    /// All of it.
    pub span: Span,
}
