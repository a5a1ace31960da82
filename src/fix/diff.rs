//! Shows what edits change.

use similar::TextDiff;

/// The lines of context around a change.
const CONTEXT: usize = 3;

/// The change of a file as a unified diff, which `git apply` and `patch -p1` read. `path` is its path from the root of the
/// repository. Empty if the texts are the same.
pub(crate) fn unified_diff(path: &str, before: &str, after: &str) -> String {
    if before == after {
        return String::new();
    }
    TextDiff::from_lines(before, after)
        .unified_diff()
        .context_radius(CONTEXT)
        .header(&format!("a/{path}"), &format!("b/{path}"))
        .to_string()
}
