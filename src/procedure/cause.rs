//! Splits an item of a fault table into test, expected result and remedy.

use crate::prose::{self, Inline, Verb};

/// The list items below a cause: the first is the test, the last the remedy, and those between them describe the
/// expected result. A single item is the remedy if it contains only references, else the test.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Cause<'s> {
    /// How to find out whether this is the cause.
    pub(crate) test: Option<&'s [Inline]>,
    /// What the test shows if this is not the cause.
    pub(crate) expected: &'s [Vec<Inline>],
    /// What to do if this is the cause.
    pub(crate) remedy: Option<&'s [Inline]>,
}

impl<'s> Cause<'s> {
    #[must_use]
    pub(crate) fn of(items: &'s [Vec<Inline>]) -> Cause<'s> {
        let (test, expected, remedy) = match items {
            [] => (None, items, None),
            [only] if is_reference(only) => (None, &[] as &[_], Some(only.as_slice())),
            [only] => (Some(only.as_slice()), &[] as &[_], None),
            [first, expected @ .., last] => {
                (Some(first.as_slice()), expected, Some(last.as_slice()))
            }
        };
        Cause {
            test,
            expected,
            remedy,
        }
    }
}

/// Whether a list item has actions, and all of them are references.
fn is_reference(item: &[Inline]) -> bool {
    let mut actions = prose::actions(item).peekable();
    actions.peek().is_some() && actions.all(|action| action.verb == Verb::See)
}
