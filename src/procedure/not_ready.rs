//! Points that say when a machine is not ready.

use crate::prose::Inline;
use crate::words::Words;

/// What follows the words with which a point begins that says when the machine is not ready: "Not ready if: the belt
/// slips". `None` of another point. `words` are those of the shop's text; the words of another language are read as well.
pub(crate) fn not_ready(point: &[Inline], words: &Words) -> Option<Vec<Inline>> {
    let [Inline::Text(text), rest @ ..] = point else {
        return None;
    };
    // The words of another language are none of this one.
    let mut others = Words::built_in().iter();
    let after = words
        .after_not_ready(text)
        .or_else(|| others.find_map(|words| words.after_not_ready(text)))?;
    let mut point = vec![Inline::Text(after.into())];
    point.extend_from_slice(rest);
    Some(point)
}
