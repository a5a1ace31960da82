//! The rules of making sheets, which `publish` finds broken.

use crate::finding::{Rule, rule};

pub(super) static RULES: [&Rule; 2] = [&NO_TYPESETTER, &TYPESETTING_FAILED];

rule! {
    /// There is no typesetter to make PDFs with, or it is not of the version that the page designs are for.
    ///
    /// ## At the bench
    ///
    /// HTML sheets are made all the same, and print well from a browser. A PDF from an earlier run
    /// stays only while it still says what the HTML says.
    ///
    /// ## Example
    ///
    /// The fault is of the machine and not of a tree; its check stands with the command line's.
    ///
    /// ## Fix
    ///
    /// Install the Typst program in the version that the finding names, or say where it is with
    /// `--typst` or `BENCHLEAF_TYPST`; `--html-only` makes no PDFs and says nothing of it.
    "no-typesetter", Printing, Error => pub(crate) NO_TYPESETTER
}

rule! {
    /// The typesetter could not set a sheet.
    ///
    /// ## At the bench
    ///
    /// The job's HTML sheet is made; its PDF is not.
    ///
    /// ## Example
    ///
    /// A figure that begins as a PNG and goes on as something else, which a text can't show; the
    /// check of this rule stands with the demonstration shop's.
    ///
    /// ## Fix
    ///
    /// What the typesetter said stands in the finding; most often a figure is broken.
    "typesetting-failed", Printing, Error => pub(crate) TYPESETTING_FAILED
}
