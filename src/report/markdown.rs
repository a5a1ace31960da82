//! A summary in Markdown, for the review of a change.
//!
//! Names and texts of the sources are untrusted: outside code, every character that Markdown reads is escaped.

use super::subject::Report;
use crate::finding::{Finding, Level};
use std::fmt::Write as _;

/// How many findings are listed.
const MOST_LISTED: usize = 10;

/// How many sheets are listed.
const MOST_SHEETS: usize = 50;

/// How many of each level there are, the worst findings, and the sheets that a change affects.
pub(super) fn summary(report: &Report<'_>) -> String {
    let folder = if report.folder.is_empty() {
        "the sources"
    } else {
        report.folder
    };
    let counts = report.counts();
    let mut text = format!(
        "### Check of {}: {}\n\n",
        code(folder),
        counts.as_deref().unwrap_or("no findings")
    );
    let findings = report.worst_first();
    if !findings.is_empty() {
        text.push_str("| level | place | finding | rule |\n| --- | --- | --- | --- |\n");
        for finding in findings.iter().take(MOST_LISTED) {
            let _ = writeln!(text, "{}", row(report, finding));
        }
        text.push('\n');
    }
    if findings.len() > MOST_LISTED {
        let _ = writeln!(text, "{MOST_LISTED} of {} are listed.\n", findings.len());
    }
    for note in report.notes {
        let _ = writeln!(text, "{}.\n", escaped(note));
    }
    if let Some(affected) = report.affected {
        text.push_str(&sheets(affected));
    }
    text
}

fn sheets(affected: &[String]) -> String {
    let title = match affected.len() {
        0 => return "No sheet is affected.\n".to_owned(),
        1 => "1 sheet is affected".to_owned(),
        count => format!("{count} sheets are affected"),
    };
    let mut text = format!("{title}:\n\n");
    for sheet in affected.iter().take(MOST_SHEETS) {
        let _ = writeln!(text, "- {}", escaped(sheet));
    }
    if affected.len() > MOST_SHEETS {
        let _ = writeln!(text, "- and {} more", affected.len() - MOST_SHEETS);
    }
    text
}

fn row(report: &Report<'_>, finding: &Finding) -> String {
    let level = match finding.level {
        Level::Error => "**error**",
        Level::Warning => "warning",
        Level::Advice => "advice",
    };
    let place = report
        .place(finding)
        .map(|(path, region)| code(&format!("{path}:{}", region.line)));
    let mut message = escaped(&finding.whole_message());
    if let Some(help) = &finding.help {
        let _ = write!(message, "<br>Help: {}", escaped(help));
    }
    let rule = code(finding.rule.name);
    let rule = match report.rule_address(finding.rule) {
        Some(address) => format!("[{rule}]({address})"),
        None => rule,
    };
    format!(
        "| {level} | {} | {message} | {rule} |",
        place.unwrap_or_default()
    )
}

/// Text with its backticked names as code, and everything else escaped.
fn escaped(text: &str) -> String {
    let text = one_line(text);
    let pieces: Vec<&str> = text.split('`').collect();
    // A backtick without a partner is text.
    let pairs = pieces.len() / 2 * 2;
    let mut result = String::new();
    for (index, piece) in pieces.iter().enumerate() {
        if index % 2 == 1 && index < pairs && pieces.len() % 2 == 1 {
            result.push_str(&code(piece));
        } else {
            result.extend(piece.chars().map(escaped_letter));
        }
    }
    result
}

/// A character outside code.
fn escaped_letter(letter: char) -> String {
    match letter {
        // In code, it names nobody.
        '@' => "`@`".to_owned(),
        // These begin nothing within a line, and an escape would make the text harder to read.
        '.' | ',' | ':' | ';' | '\'' | '"' | '(' | ')' | '/' | '?' | '%' | '=' | '+' | '-' => {
            letter.to_string()
        }
        letter if letter.is_ascii_punctuation() => format!("\\{letter}"),
        letter => letter.to_string(),
    }
}

/// Text as code, in a cell of a table.
fn code(text: &str) -> String {
    let text = one_line(text).replace('|', "\\|");
    if text.is_empty() {
        return String::new();
    }
    let longest = text.split(|letter| letter != '`').map(str::len).max();
    let fence = "`".repeat(longest.unwrap_or(0) + 1);
    if fence.len() == 1 {
        format!("{fence}{text}{fence}")
    } else {
        format!("{fence} {text} {fence}")
    }
}

/// Text without line breaks and other control characters.
fn one_line(text: &str) -> String {
    let letters = text.chars();
    letters
        .map(|letter| if letter.is_control() { ' ' } else { letter })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use pulldown_cmark::{Event, Options, Parser};

    #[test]
    fn untrusted_text_stays_text() {
        let hostile = [
            "a | b",
            "<b>x</b>",
            "[x](https://sheets.example/)",
            "![x](y)",
            "*x* _y_ ~~z~~",
            "`` a ` b ``",
            "# x",
            "`a|b`",
            "&amp; &#64;",
            "https\\://x",
            "x\n\n- y",
            "$x$",
            "odd ` tick",
            "`@all` @all",
        ];
        for text in hostile {
            let row = format!("| a | b |\n| --- | --- |\n| {} | end |\n", escaped(text));
            let events: Vec<Event<'_>> = Parser::new_ext(&row, Options::ENABLE_TABLES).collect();
            let mut read = String::new();
            for event in &events {
                match event {
                    Event::Text(piece) | Event::Code(piece) => read.push_str(piece),
                    Event::Start(tag) => {
                        let is_table = format!("{tag:?}").starts_with("Table");
                        assert!(is_table, "{text}: {tag:?}");
                    }
                    Event::End(_) => {}
                    other => panic!("{text}: {other:?}"),
                }
            }
            let plain = |text: &str| text.replace(['`', ' ', '\n'], "");
            assert_eq!(plain(&read), format!("ab{}end", plain(text)), "{row}");
        }
    }
}
