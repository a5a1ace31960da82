//! Whole shops: checked, published and read back.

use super::shops::Files;
use super::values;
use benchleaf::cli::publishing::{PublishedPages, publish_pages};
use benchleaf::finding::{Findings, Level, Span};
use benchleaf::tree::{Memory, Tree};
use benchleaf::{Checked, Sources, report};
use std::fs;
use std::path::Path;
use std::process::Command;

/// What became of an input.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// The check found an error.
    Refused,
    /// The pages were made and read back.
    Published,
}

/// For any files: reading and checking never panics, every span is in its file, and a second check finds the same. If
/// there is no error, all pages are made, and each sheet has the same values in the HTML page and in the data that the
/// typesetter receives. With a typesetter, each value is also in the text of the PDF. A second run changes nothing.
///
/// # Panics
///
/// If one of these does not hold.
pub fn publishes_if_clean(files: &Files, typst: Option<&Path>) -> Outcome {
    let (sources, checked) = check(files);
    check_places(&sources.tree, &checked.findings);
    let text = report::terminal(&sources.tree, &checked.findings, false);
    assert_eq!(checked.findings.is_empty(), text.is_empty());
    assert_eq!(
        report::entries(&sources.tree, &checked.findings).len(),
        checked.findings.iter().count()
    );
    let again = benchleaf::read(&Memory::new(files.clone()));
    if checked.findings.count(Level::Error) > 0 {
        let found = benchleaf::check(&again).findings;
        assert_eq!(text, report::terminal(&again.tree, &found, false));
        return Outcome::Refused;
    }
    let folder = tempfile::tempdir().expect("a temporary folder can be made");
    let pages = publish_pages(&again, folder.path(), typst)
        .unwrap_or_else(|error| panic!("a shop without errors can't be published: {error}"));
    assert_eq!(text, report::terminal(&again.tree, &pages.checked, false));
    check_sheets(&pages, folder.path(), typst.is_some());
    for (machine, data) in values::machine_data(&pages.sheets) {
        let path = format!("machines/{machine}.toml");
        let file = again.tree.files.iter().find(|file| file.path == path);
        values::check_machine_data(&file.expect("the machine has a file").text, data);
    }
    let second = publish_pages(&again, folder.path(), typst).map(|pages| pages.changed);
    assert_eq!(second, Ok(0), "a second run changes files");
    Outcome::Published
}

fn check(files: &Files) -> (Sources, Checked) {
    let sources = benchleaf::read(&Memory::new(files.clone()));
    let checked = benchleaf::check(&sources);
    (sources, checked)
}

/// Every span is in its file, and the edits of a finding do not overlap.
fn check_places(tree: &Tree, findings: &Findings) {
    let check = |span: Span| {
        let text = &tree.file(span.file).text;
        assert!(
            text.get(span.range()).is_some(),
            "{span:?} of {}",
            text.len()
        );
    };
    for finding in findings {
        let marks = finding.primary.iter().chain(&finding.others);
        marks.for_each(|mark| check(mark.span));
        let mut edits: Vec<Span> = finding.edits.iter().map(|edit| edit.span).collect();
        edits.sort();
        edits.iter().copied().for_each(check);
        for pair in edits.windows(2) {
            let is_apart = pair[0].file != pair[1].file || pair[0].end() <= pair[1].start();
            assert!(is_apart, "the edits of `{}` overlap", finding.message);
        }
    }
}

/// Every sheet is there, with the same values in each medium.
fn check_sheets(pages: &PublishedPages, folder: &Path, has_pdfs: bool) {
    for (path, data) in &pages.sheets {
        let file = folder.join(format!("{path}.html"));
        let page = fs::read_to_string(&file).unwrap_or_else(|error| panic!("{path}: {error}"));
        let in_data = values::of_data(data);
        assert_eq!(in_data, values::of_html(&page), "{path}");
        in_data.iter().for_each(values::check_second_unit);
        if has_pdfs {
            let text = pdf_text(&folder.join(format!("{path}.pdf")));
            for (first, second) in &in_data {
                for value in second.iter().chain([first]) {
                    assert!(
                        text.contains(&values::squeezed(value)),
                        "{path}: no `{value}`"
                    );
                }
            }
        }
    }
}

/// The text of a PDF as `pdftotext` reads it, without white space.
fn pdf_text(pdf: &Path) -> String {
    let output = Command::new("pdftotext")
        .args(["-raw", "-enc", "UTF-8"])
        .arg(pdf)
        .arg("-")
        .output()
        .expect("pdftotext is installed");
    assert!(output.status.success(), "{}", pdf.display());
    values::squeezed(&String::from_utf8_lossy(&output.stdout))
}
