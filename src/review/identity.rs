//! What stays the same of a finding when the lines above it change.

use crate::cache::{Fingerprint, FingerprintBuilder};
use crate::finding::{Finding, Findings};
use crate::tree::Tree;
use std::collections::BTreeMap;

/// The most characters of a line that identify a finding in it.
const MAX_TEXT: usize = 200;

/// What a finding says, and the text that it marks. It has no position, because a position changes with every line that is
/// added above it, and no jobs, because a shared procedure has one finding for all of them.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) struct Identity {
    /// The name of the rule.
    pub(crate) rule: String,
    /// The path of the main location's file from the tree's root. Empty without a location.
    pub(crate) path: String,
    pub(crate) message: String,
    /// The first line of the main location, if that is more than a position, without the number of a list's item. White space counts as one space.
    pub(crate) text: String,
}

impl Identity {
    pub(crate) fn of(tree: &Tree, finding: &Finding) -> Identity {
        let (path, text) = match &finding.primary {
            Some(mark) => {
                let source = tree.file(mark.span.file);
                let line = source.line(mark.span.start());
                let range = source.line_start(line)..source.line_start(line + 1);
                let line = source.text.get(range).unwrap_or_default();
                // A finding about a whole file or table marks a position, whatever is written there.
                let is_position = mark.span.is_empty();
                let text = if is_position {
                    String::new()
                } else {
                    normalized(line)
                };
                (source.path.clone(), text)
            }
            None => (String::new(), String::new()),
        };
        Identity {
            rule: finding.rule.name.to_owned(),
            path,
            message: finding.message.clone(),
            text,
        }
    }

    fn fingerprint(&self, occurrence: usize) -> Fingerprint {
        FingerprintBuilder::default()
            .with(&self.rule)
            .with(&self.path)
            .with(&self.message)
            .with(&self.text)
            .with(occurrence.to_string())
            .finish()
    }
}

/// A line without what changes when steps are added or text is indented.
fn normalized(line: &str) -> String {
    let words: Vec<&str> = line.split_whitespace().collect();
    let is_number = |word: &&str| {
        let digits = word.strip_suffix(['.', ')']).unwrap_or_default();
        !digits.is_empty() && digits.bytes().all(|byte| byte.is_ascii_digit())
    };
    let start = usize::from(words.first().is_some_and(is_number));
    words[start..].join(" ").chars().take(MAX_TEXT).collect()
}

/// A fingerprint of each finding's identity, in their order. Findings with the same identity are counted, so that each has
/// a fingerprint of its own.
pub(crate) fn fingerprints(tree: &Tree, findings: &Findings) -> Vec<Fingerprint> {
    let mut seen: BTreeMap<Identity, usize> = BTreeMap::new();
    let fingerprint = |finding: &Finding| {
        let identity = Identity::of(tree, finding);
        let count = seen.entry(identity.clone()).or_default();
        *count += 1;
        identity.fingerprint(*count)
    };
    findings.iter().map(fingerprint).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::finding::{Family, Level, Rule};
    use crate::tree::{self, Memory};

    static RULE: Rule = Rule {
        name: "spelling",
        family: Family::Reading,
        level: Level::Error,
        page: "",
    };

    /// The fingerprints of findings at each place of a word in a procedure.
    fn of_words(text: &str, word: &str) -> Vec<String> {
        let tree = tree::read(&Memory::new([("air/cover.md", text)]));
        let source = &tree.files[0];
        let places = text.match_indices(word);
        let findings: Findings = places
            .map(|(at, _)| Finding::new(&RULE, "wrong").primary(source.span(at..at + 1), ""))
            .collect();
        let fingerprints = fingerprints(&tree, &findings);
        fingerprints.iter().map(ToString::to_string).collect()
    }

    #[test]
    fn fingerprint_survives_a_line_that_moves_and_not_one_that_changes() {
        let before = of_words("1. [](remove:cover)\n2. Look.\n", "cover");
        let moved = of_words("1. Look.\n1. Wait.\r\n\n  3.  [](remove:cover)\n", "cover");
        let changed = of_words("1. [](remove:cover) at last\n", "cover");
        assert_eq!(before, moved);
        assert_ne!(before, changed);
    }

    #[test]
    fn findings_in_equal_lines_have_different_fingerprints() {
        let twice = of_words("1. cover\n2. cover\n", "cover");
        assert_eq!(twice.len(), 2);
        assert_ne!(twice[0], twice[1]);
    }
}
