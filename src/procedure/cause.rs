//! A likely cause, as a fault table's item says it.

use crate::prose::{self, Inline, Verb};

/// What the points below a cause say: the first is its test, the last what mends it, and what stands
/// between them says what is right.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Cause<'s> {
    /// How it is told from the others.
    pub(crate) test: Option<&'s [Inline]>,
    /// What the test shows where this is not the cause, in words.
    pub(crate) right: &'s [Vec<Inline>],
    /// Where to go when it is.
    pub(crate) mend: Option<&'s [Inline]>,
}

impl<'s> Cause<'s> {
    /// A cause from the points below it.
    #[must_use]
    pub(crate) fn of(points: &'s [Vec<Inline>]) -> Cause<'s> {
        let (test, right, mend) = match points {
            [] => (None, points, None),
            [only] if is_reference(only) => (None, &[] as &[_], Some(only.as_slice())),
            [only] => (Some(only.as_slice()), &[] as &[_], None),
            [first, right @ .., last] => (Some(first.as_slice()), right, Some(last.as_slice())),
        };
        Cause { test, right, mend }
    }
}

/// Whether a point only sends one elsewhere.
fn is_reference(point: &[Inline]) -> bool {
    let mut actions = prose::actions(point).peekable();
    actions.peek().is_some() && actions.all(|action| action.verb == Verb::See)
}
