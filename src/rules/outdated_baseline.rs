//! Defines the rule about entries of a baseline. `review` checks it, because it compares two states of the sources.

use crate::finding::rule;

rule! {
    /// A baseline has an entry for a finding that is gone.
    ///
    /// `benchleaf check --baseline FILE` does not report the findings that are listed in the file. An entry has to be
    /// removed when its finding has been corrected.
    ///
    /// ## At the bench
    ///
    /// If the entry stayed, it would hide the same mistake when somebody makes it again.
    ///
    /// ## Example
    ///
    /// The cover is refitted now, but the baseline still says that it is left off:
    ///
    /// ```toml
    /// [[finding]]
    /// rule = "part-left-off"
    /// path = "air/cover.md"
    /// message = "`cover` is left off at the end of the job"
    /// text = "[](remove:cover)"
    /// ```
    ///
    /// ## Fix
    ///
    /// Remove the entry from the baseline, or write the whole baseline again with `--write-baseline`.
    "outdated-baseline", Reading, Error => pub(super) RULE
}
