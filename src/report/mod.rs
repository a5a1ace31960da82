//! Renders findings as text or data. Each format has its own file.
//!
//! In: findings and their tree. Out: text for a terminal, or a report that another program reads. It never prints or
//! writes files; the caller does. A message is the same in every format.

mod entry;
mod format;
mod github;
mod json;
mod junit;
mod markdown;
mod sarif;
mod subject;
mod text;

pub use entry::{EditEntry, FindingEntry, Location, entries};
pub use format::Format;
pub(crate) use subject::{CheckedJob, Report, address_of_rule};
pub use text::terminal;
pub(crate) use text::{closing, error_without_rule, terminal_worst};

/// A report in a format. If `styled`, text for a terminal has terminal styles.
pub(crate) fn render(report: &Report<'_>, format: Format, styled: bool) -> String {
    match format {
        Format::Text => text::report(report, styled),
        Format::Json => json::lines(report),
        Format::Sarif => sarif::log(report),
        Format::Junit => junit::xml(report),
        Format::Github => github::commands(report),
        Format::Markdown => markdown::summary(report),
    }
}
