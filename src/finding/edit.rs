//! Edits: the changes to the sources that fix a finding.

use super::{FileId, Finding, Span};

/// A replacement of text in one file.
///
/// Invariant: the edits of a finding do not overlap. They are applied together, because one of them alone may not
/// fix the problem. They can be in several files.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Edit {
    /// The text to replace. If the span is empty, the replacement is inserted there.
    pub span: Span,
    /// The new text. If it is empty, the text is deleted.
    pub replacement: String,
}

/// Where the steps of a [`Proposal`] belong, relative to the step at the finding's main location.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Place {
    /// Directly before it.
    Before,
    /// Before it, as near to it as possible.
    Back,
    /// After it, as early as possible.
    Early,
    /// After it, as late as possible.
    Late,
    /// In the place of the action at that location, whose address the only action replaces.
    Instead,
    /// Not a step: the first text is replaced by the second, if it is in that step once.
    Text,
}

/// Steps that may fix a finding of a rehearsal, each an action written as in a link: `isolate:ignition`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Proposal {
    pub(crate) place: Place,
    pub(crate) actions: Vec<String>,
    /// The action that they undo. With [`Place::Back`], they can also be written after it, in its own procedure.
    pub(crate) undoing: Option<Span>,
}

impl Finding {
    /// Proposes to add steps. They become edits if a rehearsal with them does not find the problem again, and finds no
    /// other.
    #[must_use]
    pub(crate) fn propose(
        mut self,
        place: Place,
        actions: impl IntoIterator<Item = impl Into<String>>,
    ) -> Finding {
        let actions: Vec<String> = actions.into_iter().map(Into::into).collect();
        if !actions.is_empty() {
            let undoing = None;
            self.proposals.push(Proposal {
                place,
                actions,
                undoing,
            });
        }
        self
    }

    /// Proposes to replace a text in the step at the main location, where its exact span is not known.
    #[must_use]
    pub(crate) fn propose_text(self, from: String, to: String) -> Finding {
        self.propose(Place::Text, [from, to])
    }

    /// Proposes steps that undo what an action has done, before the step at the main location.
    #[must_use]
    pub(crate) fn propose_undoing(
        self,
        undoing: Option<Span>,
        actions: impl IntoIterator<Item = impl Into<String>>,
    ) -> Finding {
        let count = self.proposals.len();
        let mut finding = self.propose(Place::Back, actions);
        if let Some(proposal) = finding.proposals.get_mut(count) {
            proposal.undoing = undoing;
        }
        finding
    }

    /// The text of a file with the edits of this finding. `text` is the text that was read, without a byte order mark.
    /// `None` if no edit is in the file.
    ///
    /// ```
    /// use benchleaf::{check, read, tree::Memory};
    ///
    /// let sources = read(&Memory::new([("shop.toml", "nmae = \"Elmbrook workshop\"")]));
    /// let findings = check(&sources).findings;
    /// let unknown = findings.iter().find(|finding| finding.rule.name == "unknown-field").unwrap();
    /// let file = &sources.tree.files[0];
    /// let fixed = unknown.edited(file.id, &file.text);
    /// assert_eq!(fixed.as_deref(), Some("name = \"Elmbrook workshop\""));
    /// ```
    #[must_use]
    pub fn edited(&self, file: FileId, text: &str) -> Option<String> {
        Edit::apply(&self.edits, file, text)
    }
}

impl Edit {
    /// The text of a file with edits that do not overlap. `None` if none of them is in the file.
    pub(crate) fn apply(edits: &[Edit], file: FileId, text: &str) -> Option<String> {
        let edits = edits.iter().filter(|edit| edit.span.file == file);
        let mut edits: Vec<&Edit> = edits.collect();
        if edits.is_empty() {
            return None;
        }
        // Insertions at the same place keep their order.
        edits.sort_by_key(|edit| edit.span);
        let mut edited = String::with_capacity(text.len());
        let mut end = 0;
        for edit in edits {
            let before = text.get(end..edit.span.start());
            edited.push_str(before.unwrap_or_default());
            edited.push_str(&edit.replacement);
            end = edit.span.end();
        }
        edited.push_str(text.get(end..).unwrap_or_default());
        Some(edited)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::finding::{Family, Level, Rule};

    static RULE: Rule = Rule {
        name: "spelling",
        family: Family::Reading,
        level: Level::Error,
        page: "",
    };

    #[test]
    fn edits_of_a_file_are_applied_together() {
        let file = FileId(0);
        let edit = |file, range: std::ops::Range<usize>, replacement: &str| Edit {
            span: Span::new(file, range),
            replacement: replacement.to_owned(),
        };
        let mut finding = Finding::new(&RULE, "three words");
        assert_eq!(finding.edited(file, "one two three"), None);
        finding.edits = vec![
            edit(file, 8..13, "drei"),
            edit(FileId(1), 0..1, "elsewhere"),
            edit(file, 3..3, ","),
            edit(file, 3..3, ";"),
            edit(file, 0..3, ""),
        ];
        let edited = finding.edited(file, "one two three");
        assert_eq!(edited.as_deref(), Some(",; two drei"));
    }
}
