//! The sample shop sheet with every text replaced.

use super::steps::drawings;
use super::{content_mut, shop_sheet};
use crate::page::{Blank, Block, Cell, Figure, SafetyMessage, Sheet, SheetStep, TextRun, Value};

/// The sample shop sheet with every user text replaced by `text`. Identifiers stay: ids and the
/// language.
pub(in crate::render) fn with_every_text(text: &str) -> Sheet {
    let mut sheet = shop_sheet();
    let head = &mut sheet.head;
    for field in [&mut head.title, &mut head.shop, &mut head.mark] {
        text.clone_into(field);
    }
    head.data_note = Some(text.to_owned());
    head.machine = Some(text.to_owned());
    for fact in &mut head.facts {
        text.clone_into(&mut fact.label);
        text.clone_into(&mut fact.text);
    }
    for entry in &mut head.entries {
        text.clone_into(&mut entry.label);
    }
    replace_in_blocks(&mut sheet.blocks, text);
    sheet
}

fn replace_in_blocks(blocks: &mut [Block], text: &str) {
    for block in blocks {
        match block {
            Block::Section(section) => {
                text.clone_into(&mut section.title);
                section.from = Some(text.to_owned());
                replace_in_blocks(&mut section.blocks, text);
            }
            Block::Text { runs } | Block::Note { runs } => replace_in_runs(runs, text),
            Block::Bullets { items } => items
                .iter_mut()
                .for_each(|item| replace_in_runs(item, text)),
            Block::Safety(message) => replace_in_message(message, text),
            Block::Table(table) => {
                text.clone_into(&mut table.caption);
                for column in &mut table.columns {
                    text.clone_into(&mut column.title);
                }
                for cell in table.rows.iter_mut().flatten() {
                    replace_in_cell(cell, text);
                }
            }
            Block::Steps { steps } => steps
                .iter_mut()
                .for_each(|step| replace_in_step(step, text)),
            Block::Figure(figure) => replace_in_figure(figure, text),
            Block::Drawings { drawings } => {
                for titled in drawings {
                    text.clone_into(&mut titled.title);
                    text.clone_into(&mut titled.drawing.alt);
                }
            }
            Block::Notices { notices } => replace_all(notices, text),
            Block::SignOff { lines } => {
                for line in lines {
                    text.clone_into(&mut line.what);
                    text.clone_into(&mut line.role);
                }
            }
            Block::Protection { signs, notes } => {
                for sign in signs {
                    text.clone_into(&mut sign.referent);
                }
                replace_all(notes, text);
            }
            Block::SetUp { lines } => {
                for line in lines {
                    text.clone_into(&mut line.label);
                    replace_in_runs(&mut line.runs, text);
                }
            }
            Block::Stop(stop) => {
                text.clone_into(&mut stop.title);
                text.clone_into(&mut stop.role);
                text.clone_into(&mut stop.state);
                stop.never = stop.never.as_ref().map(|_| text.to_owned());
            }
            Block::WrongHere { label } => text.clone_into(label),
            Block::Listing(listing) => {
                text.clone_into(&mut listing.text);
                listing.caption = listing.caption.as_ref().map(|_| text.to_owned());
            }
        }
    }
}

fn replace_all(texts: &mut [String], text: &str) {
    for target in texts {
        text.clone_into(target);
    }
}

fn replace_in_runs(runs: &mut [TextRun], text: &str) {
    for run in runs {
        match run {
            TextRun::Text { text: target } | TextRun::Code { text: target } => {
                text.clone_into(target);
            }
            TextRun::Strong { runs }
            | TextRun::Emphasis { runs }
            | TextRun::Foreign { runs, .. } => replace_in_runs(runs, text),
            TextRun::Link { runs, name, .. } => {
                replace_in_runs(runs, text);
                *name = Some(text.to_owned());
            }
            TextRun::Callout { part, .. } => text.clone_into(part),
            TextRun::PageNumber { .. } | TextRun::Break => {}
        }
    }
}

fn replace_in_value(value: &mut Value, text: &str) {
    text.clone_into(&mut value.first);
    value.second = Some(text.to_owned());
}

fn replace_in_message(message: &mut SafetyMessage, text: &str) {
    text.clone_into(&mut message.hazard);
    text.clone_into(&mut message.consequence);
    replace_all(&mut message.avoid, text);
    text.clone_into(&mut message.reminder);
}

fn replace_in_cell(cell: &mut Cell, text: &str) {
    match cell {
        Cell::Text { runs } => replace_in_runs(runs, text),
        Cell::Name { text: target, .. }
        | Cell::Place { text: target, .. }
        | Cell::Drawing { text: target, .. } => text.clone_into(target),
        Cell::Value { value } => replace_in_value(value, text),
        Cell::Choice { options } => replace_all(options, text),
        Cell::Tick | Cell::Blank => {}
    }
}

fn replace_in_figure(figure: &mut Figure, text: &str) {
    text.clone_into(&mut figure.alt);
    figure.caption = Some(text.to_owned());
}

fn replace_in_step(step: &mut SheetStep, text: &str) {
    step.before
        .iter_mut()
        .for_each(|message| replace_in_message(&mut message.message, text));
    let step = content_mut(step);
    replace_in_runs(&mut step.text, text);
    for note in step.above.iter_mut().chain(&mut step.notes) {
        replace_in_runs(note, text);
    }
    for detail in &mut step.details {
        text.clone_into(&mut detail.label);
        if let Some(value) = &mut detail.value {
            replace_in_value(value, text);
        }
        replace_all(&mut detail.more, text);
    }
    for blank in &mut step.blanks {
        match blank {
            Blank::Choice { label, options, .. } => {
                text.clone_into(label);
                replace_all(options, text);
            }
            Blank::Level {
                label,
                limits,
                options,
                over,
                under,
                ..
            } => {
                text.clone_into(label);
                replace_in_value(limits, text);
                replace_all(options, text);
                for remedy in [over, under] {
                    *remedy = remedy.as_ref().map(|_| text.to_owned());
                }
            }
            Blank::Reading {
                label,
                limits,
                boxes,
                unit,
                over,
                under,
                ..
            } => {
                text.clone_into(label);
                replace_in_value(limits, text);
                replace_all(boxes, text);
                text.clone_into(unit);
                *over = Some(text.to_owned());
                *under = Some(text.to_owned());
            }
            Blank::Words { label, .. } | Blank::Wait { label, .. } => text.clone_into(label),
            Blank::Bag { label, count } => {
                text.clone_into(label);
                text.clone_into(count);
            }
        }
    }
    for table in &mut step.wear {
        text.clone_into(&mut table.part);
        for row in &mut table.rows {
            text.clone_into(&mut row.label);
            replace_all(&mut row.how, text);
            let values = [row.new.as_mut(), row.desired.as_mut(), Some(&mut row.limit)];
            for value in values.into_iter().flatten() {
                replace_in_value(value, text);
            }
            text.clone_into(&mut row.unit);
            row.beyond = Some(text.to_owned());
        }
    }
    for figure in &mut step.figures {
        replace_in_figure(figure, text);
    }
    if !step.drawings.is_empty() {
        step.drawings = drawings(text);
    }
    replace_all(&mut step.holds, text);
}
