//! A procedure that is being written: its chapters and steps, and its text.

use super::mark::{MISSING, markdown, toml_text};
use super::sentence::Sentences;
use crate::words::Words;
use std::fmt::Write as _;

/// A section of the procedure, in the order of the work.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Chapter {
    /// What endangers this work is isolated, and what has to be at hand is laid ready.
    Safe,
    /// Valves are shut and fluids drained.
    Drain,
    Strip,
    Clean,
    /// The reassembly, which the compiler derives.
    Refit,
    /// What follows the reassembly.
    Check,
}

impl Chapter {
    pub(super) const ALL: [Chapter; 6] = [
        Chapter::Safe,
        Chapter::Drain,
        Chapter::Strip,
        Chapter::Clean,
        Chapter::Refit,
        Chapter::Check,
    ];

    /// The key of its title in the words of the shop's language.
    fn title(self) -> &'static str {
        match self {
            Chapter::Safe => "removal-safe",
            Chapter::Drain => "removal-drain",
            Chapter::Strip => "removal-strip",
            Chapter::Clean => "removal-clean",
            Chapter::Refit => "removal-refit",
            Chapter::Check => "removal-check",
        }
    }
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct DraftStep {
    pub(super) chapter: Chapter,
    /// As in a link: `remove:cover`. Empty if the step only has text.
    pub(super) action: String,
    /// Further actions of the same step.
    pub(super) then: Vec<String>,
    /// Its text in Markdown, if it is neither the shop's sentence nor what the compiler writes.
    pub(super) text: Option<String>,
    /// Whether the shop's own sentence for the action is not to be used, because it does not fit here.
    pub(super) is_plain: bool,
    /// Points below it, in Markdown.
    pub(super) notes: Vec<String>,
}

impl DraftStep {
    pub(super) fn has_gap(&self) -> bool {
        let mut texts = self.text.iter().chain(&self.notes);
        texts.any(|text| text.contains(MISSING))
    }

    fn text(&self, sentences: &Sentences) -> String {
        if let Some(text) = &self.text {
            return text.clone();
        }
        let sentence = sentences.of(&self.action).filter(|_| !self.is_plain);
        let mut text = match sentence {
            Some(sentence) => sentence.to_owned(),
            None => format!("[]({})", self.action),
        };
        for action in &self.then {
            let _ = write!(text, ". []({action})");
        }
        text
    }
}

/// A procedure that is being written.
#[derive(Clone, Debug)]
pub(super) struct Draft {
    pub(super) title: String,
    pub(super) machine: String,
    pub(super) begin: Vec<String>,
    pub(super) finish: Vec<String>,
    /// What stands above the first section, in Markdown.
    pub(super) why: String,
    /// In order of their chapters.
    pub(super) steps: Vec<DraftStep>,
}

impl Draft {
    /// Adds a step at the end of a chapter, and returns its index.
    pub(super) fn push(&mut self, chapter: Chapter, action: impl Into<String>) -> usize {
        let at = self.steps.partition_point(|step| step.chapter <= chapter);
        self.insert(at, chapter, action);
        at
    }

    /// Adds a step before the one at an index.
    pub(super) fn insert(&mut self, at: usize, chapter: Chapter, action: impl Into<String>) {
        let step = DraftStep {
            chapter,
            action: action.into(),
            then: Vec::new(),
            text: None,
            is_plain: false,
            notes: Vec::new(),
        };
        self.steps.insert(at.min(self.steps.len()), step);
    }

    pub(super) fn has(&self, action: &str) -> bool {
        self.steps.iter().any(|step| step.action == action)
    }

    /// The text of the file.
    pub(super) fn text(&self, words: &Words, sentences: &Sentences) -> String {
        let list = |ids: &[String]| {
            let quoted: Vec<String> = ids.iter().map(|id| toml_text(id)).collect();
            quoted.join(", ")
        };
        let mut text = format!(
            "+++\ntitle = {}\nmachines = [{}]\n# {}\n# minutes = 30\n",
            toml_text(&self.title),
            toml_text(&self.machine),
            words.source("removal-minutes", &[])
        );
        for (field, ids) in [("begin", &self.begin), ("finish", &self.finish)] {
            if !ids.is_empty() {
                let _ = writeln!(text, "{field} = [{}]", list(ids));
            }
        }
        let _ = write!(text, "+++\n\n{}\n", self.why);
        for chapter in Chapter::ALL {
            self.write_chapter(chapter, words, sentences, &mut text);
        }
        text
    }

    fn write_chapter(
        &self,
        chapter: Chapter,
        words: &Words,
        sentences: &Sentences,
        text: &mut String,
    ) {
        let steps = || self.steps.iter().filter(|step| step.chapter == chapter);
        let is_derived = chapter == Chapter::Refit;
        if steps().next().is_none() && !is_derived {
            return;
        }
        let mark = if is_derived { " {.reverse}" } else { "" };
        let _ = write!(
            text,
            "\n## {}{mark}\n",
            markdown(&words.source(chapter.title(), &[]))
        );
        for (index, step) in steps().enumerate() {
            if index == 0 {
                text.push('\n');
            }
            let _ = writeln!(text, "{}. {}", index + 1, step.text(sentences));
            for note in &step.notes {
                let _ = writeln!(text, "   - {note}");
            }
        }
    }
}

/// The gaps of a text: the number of the line, from 1, and what is missing.
pub(crate) fn gaps(text: &str) -> Vec<(usize, String)> {
    let lines = text.lines().enumerate();
    let gaps = lines.filter_map(|(index, line)| {
        let (_, missing) = line.split_once(MISSING)?;
        let missing = missing.trim_matches(|letter: char| letter.is_whitespace() || letter == '"');
        Some((index + 1, missing.to_owned()))
    });
    gaps.collect()
}
