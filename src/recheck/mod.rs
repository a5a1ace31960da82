//! Keeps a check up to date while one source after another changes.
//!
//! In: [`Sources`], and the new text of one of their files. Out: the findings, the same as those of a check
//! from nothing. [`replace_text`] reads the file again and says which results are [`Outdated`]; a [`Recheck`] keeps all
//! others, and makes only the outdated ones again. This stage never reads a file from a disk, and starts no thread.
//!
//! It does not try out the steps that may fix a finding, which takes most of a check's time if there are many: [`with_edits`]
//! does that for the findings that somebody looks at.

mod outdated;
mod replace;
mod results;

use crate::Sources;
use crate::finding::{Finding, Findings};
use crate::rules;
pub(crate) use outdated::Outdated;
pub(crate) use replace::replace_text;
pub(crate) use results::Recheck;

/// The findings with their edits, where a rehearsal shows that the steps they propose fix them.
pub(crate) fn with_edits<'f>(
    sources: &Sources,
    findings: impl IntoIterator<Item = &'f Finding>,
) -> Findings {
    let mut findings: Findings = findings.into_iter().cloned().collect();
    let (tree, shop) = (&sources.tree, &sources.shop);
    let (procedures, faults) = (&sources.procedures, &sources.faults);
    rules::add_edits(tree, shop, procedures, faults, &mut findings);
    findings
}
