//! Values in Markdown tables that have the units in their headings.

use std::ops::Range;

use super::found::Found;
use super::gallons::Gallons;
use super::limits::Limits;
use super::pair::{Paired, agreement};
use super::unit::Unit;

/// Adds the values of table rows that are given in two or more units.
pub(super) fn add_columns(text: &str, gallons: Gallons, found: &mut Vec<Found>) {
    if !text.contains('|') {
        return;
    }
    let mut lines = lines(text).peekable();
    while let Some(head) = lines.next() {
        let is_table = lines
            .peek()
            .is_some_and(|line| is_rule(&text[line.clone()]));
        if !text[head.clone()].contains('|') || !is_table {
            continue;
        }
        lines.next();
        let units: Vec<Option<Unit>> = cells(text, &head)
            .map(|cell| unit_in(&text[cell], gallons))
            .collect();
        while let Some(row) = lines.next_if(|line| text[line.clone()].contains('|')) {
            let values = cells(text, &row).zip(&units).filter_map(|(cell, unit)| {
                let typed = format!("{} {}", &text[cell.clone()], (*unit)?);
                Some((cell, Limits::parse_with(&typed, gallons).ok()?))
            });
            add_row(values.collect(), found);
        }
    }
    found.sort_by_key(|value| value.range.start);
}

/// Adds the first value of each kind that a row gives in several units.
fn add_row(values: Vec<(Range<usize>, Limits)>, found: &mut Vec<Found>) {
    let mut rest = values.into_iter().peekable();
    while let Some((range, limits)) = rest.next() {
        let mut paired = Vec::new();
        while let Some((range, other)) = rest
            .next_if(|(_, other)| other.kind() == limits.kind() && other.unit() != limits.unit())
        {
            paired.push(Paired {
                range,
                agreement: agreement(&limits, &other),
                limits: other,
            });
        }
        if !paired.is_empty() {
            found.push(Found {
                range,
                limits,
                paired,
            });
        }
    }
}

/// The lines of a text, without their ends.
fn lines(text: &str) -> impl Iterator<Item = Range<usize>> {
    let mut start = 0;
    text.split_inclusive('\n').map(move |line| {
        let range = start..start + line.trim_end().len();
        start += line.len();
        range
    })
}

/// Whether a line is the one under a table's head: `| --- | ---: |`.
fn is_rule(line: &str) -> bool {
    line.contains("--") && line.chars().all(|c| matches!(c, '|' | '-' | ':' | ' '))
}

/// The cells of a row, without spaces and marks of emphasis around them.
fn cells(text: &str, row: &Range<usize>) -> impl Iterator<Item = Range<usize>> {
    let line = &text[row.clone()];
    let mut start = row.start;
    let inner = line
        .trim_start_matches(' ')
        .strip_prefix('|')
        .unwrap_or(line);
    start += line.len() - inner.len();
    inner.split('|').map(move |cell| {
        let own = start;
        start += cell.len() + 1;
        let trimmed = cell.trim_start_matches([' ', '*']);
        let from = own + (cell.len() - trimmed.len());
        from..from + trimmed.trim_end_matches([' ', '*']).len()
    })
}

/// The unit in the heading of a column: `N·m`, `Torque (N·m)`, `Torque in N·m`, `Torque, N·m`.
fn unit_in(heading: &str, gallons: Gallons) -> Option<Unit> {
    let unit = |text: &str| Unit::parse_with(text.trim(), gallons).ok();
    let bracketed = || {
        let inner = heading.trim_end().strip_suffix([')', ']'])?;
        unit(&inner[inner.rfind(['(', '['])? + 1..])
    };
    let after = |mark: &str| unit(&heading[heading.rfind(mark)? + mark.len()..]);
    unit(heading)
        .or_else(bracketed)
        .or_else(|| after(" in "))
        .or_else(|| after(","))
}
