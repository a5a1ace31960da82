//! The baseline: the findings that a tree started with, in a file.
//!
//! A shop that begins to check sources it has had for years can't correct everything at once. The baseline lists what was
//! found on that day, so that a check reports only what is new. An entry whose finding is gone has to be removed, or it
//! would hide the same mistake if somebody made it again.

use super::Identity;
use crate::finding::{Finding, Findings};
use crate::rules::OUTDATED_BASELINE;
use crate::tree::Tree;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fmt::{self, Write as _};

/// The findings that are known, each with how often it is there.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Baseline(BTreeMap<Identity, usize>);

/// Why a baseline can't be read.
#[derive(Debug)]
pub(crate) struct BaselineError(String);

impl fmt::Display for BaselineError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// A baseline's file.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[serde(default)]
    finding: Vec<Entry>,
}

#[derive(Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
struct Entry {
    rule: String,
    #[serde(default, skip_serializing_if = "String::is_empty")]
    path: String,
    message: String,
    #[serde(default, skip_serializing_if = "String::is_empty")]
    text: String,
    #[serde(default = "one", skip_serializing_if = "is_one")]
    count: usize,
}

fn one() -> usize {
    1
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde passes it so")]
fn is_one(count: &usize) -> bool {
    *count == 1
}

/// The first lines of a baseline that the program writes.
const HEAD: &str = "\
# Findings that are known, and that a check with this baseline does not report.
# Remove an entry when its finding has been corrected.
";

impl Baseline {
    /// The findings of a check as a baseline.
    pub(crate) fn of(tree: &Tree, findings: &Findings) -> Baseline {
        let mut counts = BTreeMap::new();
        for finding in findings {
            *counts.entry(Identity::of(tree, finding)).or_default() += 1;
        }
        Baseline(counts)
    }

    /// Reads a baseline from the text of its file.
    ///
    /// # Errors
    ///
    /// If the text is not TOML, or not that of a baseline. The message has the line.
    pub(crate) fn parse(text: &str) -> Result<Baseline, BaselineError> {
        let file: File = toml::from_str(text).map_err(|error| {
            let start = error.span().map_or(0, |span| span.start);
            let before = text.get(..start).unwrap_or_default();
            let line = before.matches('\n').count() + 1;
            BaselineError(format!("line {line}: {}", error.message()))
        })?;
        let mut counts = BTreeMap::new();
        for entry in file.finding {
            let identity = Identity {
                rule: entry.rule,
                path: entry.path,
                message: entry.message,
                text: entry.text,
            };
            *counts.entry(identity).or_default() += entry.count;
        }
        Ok(Baseline(counts))
    }

    /// The text of the file, with the entries in order.
    pub(crate) fn text(&self) -> String {
        let mut text = HEAD.to_owned();
        for (identity, count) in &self.0 {
            let entry = Entry {
                rule: identity.rule.clone(),
                path: identity.path.clone(),
                message: identity.message.clone(),
                text: identity.text.clone(),
                count: *count,
            };
            // Texts and numbers can always be written.
            let fields = toml::to_string(&entry).unwrap_or_default();
            let _ = write!(text, "\n[[finding]]\n{fields}");
        }
        text
    }

    /// How many findings it has.
    #[cfg(test)]
    fn len(&self) -> usize {
        self.0.values().sum()
    }

    /// Removes the findings that it has, and adds one for each entry without a finding. Returns how many were removed.
    pub(crate) fn apply(mut self, tree: &Tree, findings: &mut Findings) -> usize {
        let before = findings.iter().count();
        findings.retain(
            |finding| match self.0.get_mut(&Identity::of(tree, finding)) {
                Some(count) if *count > 0 => {
                    *count -= 1;
                    false
                }
                _ => true,
            },
        );
        let known = before - findings.iter().count();
        for (identity, count) in self.0 {
            if count > 0 {
                findings.push(gone(&identity, count));
            }
        }
        known
    }
}

/// The finding about an entry whose finding is gone.
fn gone(identity: &Identity, count: usize) -> Finding {
    let Identity {
        rule,
        path,
        message,
        ..
    } = identity;
    let place = match path.as_str() {
        "" => String::new(),
        path => format!(" in `{path}`"),
    };
    let times = if count == 1 {
        String::new()
    } else {
        format!(" ({count} times)")
    };
    Finding::new(
        OUTDATED_BASELINE,
        format!("the baseline has a finding of `{rule}`{place} that is gone{times}: {message}"),
    )
    .help("remove its entry from the baseline, or write the baseline again with `--write-baseline`")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tree::Memory;
    use crate::{check, read};

    fn checked(shop: &str) -> (crate::Sources, Findings) {
        let sources = read(&Memory::new([("shop.toml", shop)]));
        let findings = check(&sources).findings;
        (sources, findings)
    }

    #[test]
    fn baseline_hides_what_it_has_and_reports_what_is_gone() {
        let (sources, findings) = checked("nmae = \"Elmbrook\"\nnmae2 = \"\"\n");
        let all = findings.iter().count();
        let baseline = Baseline::of(&sources.tree, &findings);
        assert_eq!(baseline.len(), all);
        let text = baseline.text();
        let read = Baseline::parse(&text).expect("it was written by the program");
        assert_eq!(read, baseline);

        let mut same = findings.clone();
        assert_eq!(read.clone().apply(&sources.tree, &mut same), all);
        assert!(same.is_empty());

        // A line above moves the finding, and another mistake is new.
        let (sources, mut moved) = checked("\n# note\nnmae = \"Elmbrook\"\nothr = \"\"\n");
        read.apply(&sources.tree, &mut moved);
        let left: Vec<(&str, bool)> = moved
            .iter()
            .map(|finding| (finding.rule.name, finding.message.contains("othr")))
            .collect();
        assert_eq!(
            left,
            [("unknown-field", true), ("outdated-baseline", false)]
        );
    }

    #[test]
    fn broken_baseline_is_an_error_with_its_line() {
        let error = |text| Baseline::parse(text).expect_err(text).0;
        assert!(error("[[finding]]\nrule = 3\n").starts_with("line 2: "));
        assert!(error("[[finding]]\nrule = \"a\"\nmesage = \"\"\n").contains("mesage"));
        assert!(error("\n\n[[").starts_with("line 3: "));
    }
}
