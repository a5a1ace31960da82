//! The findings that a change introduced.

use super::Identity;
use crate::finding::{Finding, Findings, Level};
use crate::tree::Tree;
use std::collections::{BTreeMap, BTreeSet};

/// The findings of the sources before a change, and the names that the change gave to files.
pub(crate) struct Before<'b> {
    pub(crate) tree: &'b Tree,
    pub(crate) findings: &'b Findings,
    /// The old path of each renamed file, and its new one.
    pub(crate) renames: &'b BTreeMap<String, String>,
}

/// What was known of a finding before a change.
#[derive(Default)]
struct Known {
    /// The level of each finding with the same identity.
    levels: Vec<Level>,
    jobs: BTreeSet<String>,
}

/// Removes the findings that were there before. A finding that was there keeps only the jobs in which it is new. Returns how
/// many were removed.
pub(crate) fn keep_introduced(tree: &Tree, findings: &mut Findings, before: &Before<'_>) -> usize {
    let ids = before.renamed_ids();
    let mut known: BTreeMap<Identity, Known> = BTreeMap::new();
    for finding in before.findings {
        let mut identity = Identity::of(before.tree, finding);
        if let Some(path) = before.renames.get(&identity.path) {
            identity.path.clone_from(path);
        }
        let known = known.entry(identity).or_default();
        known.levels.push(finding.level);
        let jobs = finding.jobs.iter().map(|job| renamed(job, &ids));
        known.jobs.extend(jobs);
    }
    let count = findings.iter().count();
    let mut introduced = Vec::new();
    for finding in std::mem::take(findings) {
        let known = known.get_mut(&Identity::of(tree, &finding));
        introduced.extend(part_introduced(finding, known));
    }
    *findings = introduced.into_iter().collect();
    count - findings.iter().count()
}

/// The part of a finding that is new: all of it, or only some jobs. `None` if nothing of it is.
fn part_introduced(mut finding: Finding, known: Option<&mut Known>) -> Option<Finding> {
    let Some(known) = known else {
        return Some(finding);
    };
    // A level that was raised lets a check fail that did not fail before.
    let same = known
        .levels
        .iter()
        .position(|level| *level >= finding.level);
    let Some(same) = same else {
        return Some(finding);
    };
    if finding.jobs.iter().all(|job| known.jobs.contains(job)) {
        known.levels.swap_remove(same);
        return None;
    }
    finding.jobs.retain(|job| !known.jobs.contains(job));
    Some(finding)
}

impl Before<'_> {
    /// The old and the new id of each renamed file, as findings quote them.
    fn renamed_ids(&self) -> Vec<(String, String)> {
        let id = |path: &str| {
            let name = path.rsplit('/').next().unwrap_or(path);
            let stem = name.rsplit_once('.').map_or(name, |(stem, _)| stem);
            format!("`{stem}`")
        };
        let ids = self.renames.iter();
        ids.map(|(old, new)| (id(old), id(new))).collect()
    }
}

/// The name of a job with the new ids of its procedure and its machine.
fn renamed(job: &str, ids: &[(String, String)]) -> String {
    let mut parts: Vec<&str> = job.split(" on ").collect();
    for part in &mut parts {
        if let Some((_, new)) = ids.iter().find(|(old, _)| old == part) {
            *part = new;
        }
    }
    parts.join(" on ")
}
