//! What can be folded: the front matter, sections, steps of several lines, and tables.

use super::client::Client;
use super::completion_context::front_matter;
use super::encoding::Lines;
use super::names::written;
use super::place::Opened;
use super::toml_sections::toml_sections;
use lsp_types::{FoldingRange, FoldingRangeKind, FoldingRangeParams};
use std::ops::Range;

pub(super) fn folding(
    client: &Client,
    parameters: &FoldingRangeParams,
) -> Option<Vec<FoldingRange>> {
    let opened = Opened::find(client, &parameters.text_document.uri)?;
    let (sources, file) = opened.get()?;
    let mut ranges: Vec<Range<usize>> = Vec::new();
    if let Some(procedure) = written(sources, file.id) {
        if let Some(front) = front_matter(&file.text) {
            ranges.push(0..front.end);
        }
        let starts: Vec<usize> = procedure
            .sections
            .iter()
            .map(|section| section.span.start())
            .collect();
        let ends = starts.iter().skip(1).copied().chain([file.text.len()]);
        ranges.extend(
            starts
                .iter()
                .copied()
                .zip(ends)
                .map(|(start, end)| start..end),
        );
        ranges.extend(procedure.steps().map(|step| step.span.range()));
    } else {
        ranges.extend(
            toml_sections(&file.text)
                .into_iter()
                .map(|section| section.whole),
        );
    }
    let lines = Lines::of(&file.text, opened.encoding);
    let folded = ranges.into_iter().filter_map(|range| {
        let text = file.text.get(range.clone())?.trim_end();
        let first = lines.line_of(range.start);
        let last = lines.line_of(range.start + text.len());
        (last > first).then(|| FoldingRange {
            start_line: u32::try_from(first).unwrap_or(u32::MAX),
            end_line: u32::try_from(last).unwrap_or(u32::MAX),
            kind: Some(FoldingRangeKind::Region),
            ..FoldingRange::default()
        })
    });
    Some(folded.collect())
}
