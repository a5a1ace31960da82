//! The formats by their names.

/// A format of findings.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Format {
    /// Text for a terminal, with the source lines.
    Text,
    /// A JSON object for each finding, each on a line of its own.
    Json,
    /// A SARIF 2.1.0 log.
    Sarif,
    /// `JUnit` XML, with a suite for each procedure.
    Junit,
    /// Workflow commands, which GitHub shows as annotations of the changed lines.
    Github,
    /// A summary for the review of a change.
    Markdown,
}

impl Format {
    /// All formats.
    pub const ALL: [Format; 6] = [
        Format::Text,
        Format::Json,
        Format::Sarif,
        Format::Junit,
        Format::Github,
        Format::Markdown,
    ];

    /// Its name on the command line.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Format::Text => "text",
            Format::Json => "json",
            Format::Sarif => "sarif",
            Format::Junit => "junit",
            Format::Github => "github",
            Format::Markdown => "markdown",
        }
    }
}
