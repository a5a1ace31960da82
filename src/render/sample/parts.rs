//! Constructors for the parts of the sample sheets.

use crate::page::{
    Block, Cell, Column, Detail, SafetyMessage, SectionId, SheetSection, SheetStep,
    SheetStepContent, SignalWord, StepKey, StepMessage, Table, TextRun, Value,
};
use std::sync::Arc;

pub(super) fn value(first: &str, second: &str) -> Value {
    Value {
        first: first.to_owned(),
        second: (!second.is_empty()).then(|| second.to_owned()),
        unverified: false,
        bare: None,
    }
}

pub(super) fn detail(label: &str, value: Option<Value>, more: &[&str]) -> Detail {
    Detail {
        label: label.to_owned(),
        value,
        more: strings(more),
        noted: None,
    }
}

pub(super) fn strings(texts: &[&str]) -> Vec<String> {
    texts.iter().map(|text| (*text).to_owned()).collect()
}

pub(super) fn runs(text: &str) -> Vec<TextRun> {
    vec![TextRun::text(text)]
}

pub(super) fn message(
    id: &str,
    word: SignalWord,
    hazard: &str,
    consequence: &str,
    avoid: &[&str],
) -> SafetyMessage {
    SafetyMessage {
        id: id.to_owned(),
        place: None,
        word,
        hazard: hazard.to_owned(),
        consequence: consequence.to_owned(),
        avoid: strings(avoid),
        reminder: avoid.first().copied().unwrap_or_default().to_owned(),
        signs: Vec::new(),
    }
}

pub(super) fn in_full(message: SafetyMessage) -> StepMessage {
    StepMessage {
        message,
        again: false,
    }
}

pub(super) fn again(message: SafetyMessage) -> StepMessage {
    StepMessage {
        message,
        again: true,
    }
}

pub(super) fn petrol() -> SafetyMessage {
    message(
        "petrol-vapour",
        SignalWord::Danger,
        "Petrol vapour catches fire.",
        "A fire in the workshop kills.",
        &[
            "Work outdoors or with the doors open.",
            "Keep sparks, flames and the heater away.",
            "Catch what runs out in a metal can with a lid.",
        ],
    )
}

pub(super) fn spring() -> SafetyMessage {
    message(
        "spring-under-tension",
        SignalWord::Caution,
        "The governor spring flies off.",
        "It can hit an eye.",
        &[
            "Wear eye protection.",
            "Hold the spring with pliers while it comes off.",
        ],
    )
}

pub(super) fn moving() -> SafetyMessage {
    message(
        "tines-turn",
        SignalWord::Warning,
        "The tines turn as soon as the engine runs in gear.",
        "They can cut a foot.",
        &[
            "Block the wheels and take the belt off.",
            "Stand beside the tiller, not before it.",
        ],
    )
}

pub(super) fn lever() -> SafetyMessage {
    message(
        "lever-bends",
        SignalWord::Notice,
        "The governor lever bends easily.",
        "A bent lever makes the engine hunt.",
        &["Push at the rod's end only."],
    )
}

/// Builds the steps of a job with consecutive numbers. The value is the number of the last step.
pub(super) struct Steps(pub(super) u32);

impl Steps {
    pub(super) fn step(&mut self, text: &str) -> SheetStep {
        self.0 += 1;
        SheetStep {
            number: self.0,
            same_as: None,
            key: Some(StepKey {
                id: format!("{:08x}", self.0),
                like: String::new(),
            }),
            initials: false,
            before: Vec::new(),
            content: Arc::new(SheetStepContent {
                text: runs(text),
                ..SheetStepContent::default()
            }),
        }
    }

    pub(super) fn plain(&mut self, texts: &[&str]) -> Vec<SheetStep> {
        texts.iter().map(|text| self.step(text)).collect()
    }
}

pub(super) fn section(title: &str, id: SectionId, from: Option<&str>, blocks: Vec<Block>) -> Block {
    Block::Section(SheetSection {
        id,
        title: title.to_owned(),
        from: from.map(str::to_owned),
        blocks,
    })
}

pub(super) fn table(caption: &str, columns: &[(&str, u8)], rows: Vec<Vec<Cell>>) -> Block {
    Block::Table(Table {
        caption: caption.to_owned(),
        columns: columns
            .iter()
            .map(|(title, share)| Column {
                title: (*title).to_owned(),
                share: *share,
            })
            .collect(),
        rows,
    })
}

pub(super) fn name(text: &str) -> Cell {
    Cell::name(text)
}
