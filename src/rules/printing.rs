//! The rules that `publish` reports.

use crate::finding::{Rule, rule};

pub(super) static RULES: [&Rule; 2] = [&NO_TYPESETTER, &TYPESETTING_FAILED];

rule! {
    /// No typesetter is installed to make PDFs, or its version is wrong.
    ///
    /// ## At the bench
    ///
    /// The HTML sheets are still made, and can be printed from a browser. A PDF from an earlier run is
    /// kept only while it still agrees with the HTML.
    ///
    /// ## Example
    ///
    /// The fault lies in the computer's setup, so sources can't show it; tests of the command line
    /// check this rule.
    ///
    /// ## Fix
    ///
    /// Install the Typst version that the finding names, or give its path with `--typst` or
    /// `BENCHLEAF_TYPST`. `--html-only` makes no PDFs and does not report this.
    "no-typesetter", Printing, Error => pub(crate) NO_TYPESETTER
}

rule! {
    /// The typesetter could not make the PDF of a sheet.
    ///
    /// ## At the bench
    ///
    /// The job has its HTML sheet, but no PDF.
    ///
    /// ## Example
    ///
    /// A PNG whose compressed data is wrong although its checksums are right. Tests of the demonstration shop check
    /// this rule.
    ///
    /// ## Fix
    ///
    /// Read the typesetter's message in the finding. The usual cause is a damaged figure.
    "typesetting-failed", Printing, Error => pub(crate) TYPESETTING_FAILED
}
