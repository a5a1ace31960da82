//! Where links lead once a text stands in the manual.

use crate::page::{Block, Cell, Run, Step, Table, Target};
use crate::words::Words;
use std::collections::BTreeMap;

/// How the texts of one job, or of one machine, find their places in the manual.
#[derive(Clone, Copy)]
pub(super) struct Way<'w> {
    pub(super) words: &'w Words,
    /// What every anchor in the texts begins with in the manual.
    pub(super) prefix: &'w str,
    /// Where the steps of the job stand, by their numbers on its sheet.
    pub(super) steps: &'w BTreeMap<u32, String>,
    /// Where leaves stand in the manual, by their paths.
    pub(super) leaves: &'w BTreeMap<String, String>,
}

impl<'w> Way<'w> {
    /// A place's anchor in the manual.
    pub(super) fn anchor(self, anchor: &str) -> String {
        format!("{}/{anchor}", self.prefix)
    }

    /// The anchor of a target; none where the manual has no such place.
    fn find(self, target: &Target) -> Option<&'w str> {
        let found = match target {
            Target::Here { anchor } => {
                let number = anchor.strip_prefix("step-")?.parse().ok()?;
                self.steps.get(&number)
            }
            Target::Leaf { path, .. } => self.leaves.get(path),
            Target::Page { .. } | Target::Web { .. } => None,
        };
        found.map(String::as_str)
    }

    /// Text with its links led to their places, each with its page; what leads nowhere is text.
    pub(super) fn runs(self, runs: Vec<Run>) -> Vec<Run> {
        let mut led = Vec::with_capacity(runs.len());
        let mut runs = runs.into_iter().peekable();
        while let Some(run) = runs.next() {
            match run {
                Run::Link { target, runs: said } => {
                    if matches!(target, Target::Web { .. }) {
                        led.push(Run::Link { target, runs: said });
                        continue;
                    }
                    let Some(to) = self.find(&target) else {
                        led.extend(said);
                        continue;
                    };
                    led.push(link(to, said));
                    // "undo both nuts (step 4)": the page goes into the brackets that are there.
                    let bracketed = match runs.peek() {
                        Some(Run::Text { text }) => bracketed(text).map(str::to_owned),
                        _ => None,
                    };
                    if let Some(inside) = bracketed {
                        runs.next();
                        led.push(Run::text(inside));
                        led.push(page_after(to, self.words));
                        led.push(Run::text(")"));
                    } else {
                        led.push(page_in_brackets(to, self.words));
                    }
                }
                Run::Strong { runs } => led.push(Run::Strong {
                    runs: self.runs(runs),
                }),
                Run::Emphasis { runs } => led.push(Run::Emphasis {
                    runs: self.runs(runs),
                }),
                Run::Text { .. } | Run::Code { .. } | Run::Break => led.push(run),
            }
        }
        led
    }

    /// Blocks with their anchors made the manual's and their links led to their places.
    pub(super) fn blocks(self, blocks: Vec<Block>) -> Vec<Block> {
        blocks.into_iter().map(|block| self.block(block)).collect()
    }

    fn block(self, block: Block) -> Block {
        match block {
            Block::Section(mut section) => {
                section.anchor = self.anchor(&section.anchor);
                section.blocks = self.blocks(section.blocks);
                Block::Section(section)
            }
            Block::Text { runs } => Block::Text {
                runs: self.runs(runs),
            },
            Block::Bullets { items } => Block::Bullets {
                items: items.into_iter().map(|item| self.runs(item)).collect(),
            },
            Block::Table(mut table) => {
                for cell in table.rows.iter_mut().flatten() {
                    if let Cell::Text { runs } = cell {
                        *runs = self.runs(std::mem::take(runs));
                    }
                }
                Block::Table(without_entries(table))
            }
            Block::Steps { steps } => Block::Steps {
                steps: steps.into_iter().map(|step| self.step(step)).collect(),
            },
            Block::Stop(mut stop) => {
                stop.anchor = self.anchor(&stop.anchor);
                Block::Stop(stop)
            }
            Block::Safety(_)
            | Block::Figure(_)
            | Block::Notices { .. }
            | Block::Protection { .. }
            | Block::SignOff { .. }
            | Block::WrongHere { .. } => block,
        }
    }

    fn step(self, mut step: Step) -> Step {
        step.anchor = self.anchor(&step.anchor);
        step.text = self.runs(step.text);
        let notes = step.notes.into_iter();
        step.notes = notes.map(|note| self.runs(note)).collect();
        step
    }
}

/// The text up to its closing bracket, where it is nothing but a remark in brackets.
fn bracketed(text: &str) -> Option<&str> {
    let inside = text.strip_suffix(')')?;
    (inside.starts_with(" (") && !inside.contains(')')).then_some(inside)
}

/// A table without the columns in which something is written or ticked: nobody writes in the manual.
fn without_entries(mut table: Table) -> Table {
    let is_entry = |at: usize| {
        let mut cells = table.rows.iter().filter_map(|row| row.get(at));
        cells.all(|cell| matches!(cell, Cell::Blank | Cell::Tick | Cell::Choice { .. }))
    };
    let kept: Vec<bool> = (0..table.columns.len()).map(|at| !is_entry(at)).collect();
    if table.rows.is_empty() {
        return table;
    }
    keep(&kept, &mut table.columns);
    for row in &mut table.rows {
        keep(&kept, row);
    }
    table
}

/// Leaves in a list what is kept, by its place.
fn keep<T>(kept: &[bool], list: &mut Vec<T>) {
    let mut kept = kept.iter();
    list.retain(|_| kept.next().copied().unwrap_or_default());
}

/// A link to a place of the manual.
pub(super) fn link(to: &str, runs: Vec<Run>) -> Run {
    Run::Link {
        target: Target::Here {
            anchor: to.to_owned(),
        },
        runs,
    }
}

/// " (page 31)".
pub(super) fn page_in_brackets(to: &str, words: &Words) -> Run {
    page(to, &format!(" ({})", words.get("page-number")))
}

/// ", page 31".
pub(super) fn page_after(to: &str, words: &Words) -> Run {
    page(to, &format!(", {}", words.get("page-number")))
}

/// The number of a page and no more.
pub(super) fn page_alone(to: &str) -> Run {
    page(to, "{page}")
}

fn page(to: &str, text: &str) -> Run {
    let (before, after) = text.split_once("{page}").unwrap_or((text, ""));
    Run::Link {
        target: Target::Page {
            anchor: to.to_owned(),
        },
        runs: vec![Run::text(before), Run::text(after)],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(runs: &[Run]) -> String {
        let texts = runs.iter().map(|run| match run {
            Run::Text { text } => text.clone(),
            Run::Link {
                target: Target::Page { anchor },
                runs,
            } => said(runs).replace('\u{a0}', " ") + &format!("[{anchor}]"),
            Run::Link { runs, .. } => said(runs),
            _ => String::new(),
        });
        texts.collect()
    }

    #[test]
    fn a_page_stands_in_the_brackets_that_are_there_or_in_its_own() {
        let steps = BTreeMap::from([(4, "t7/bowl/step-4".to_owned())]);
        let way = Way {
            words: Words::english(),
            prefix: "t7/bowl",
            steps: &steps,
            leaves: &BTreeMap::new(),
        };
        let step = |number: u32, text: &str| Run::Link {
            target: Target::Here {
                anchor: format!("step-{number}"),
            },
            runs: vec![Run::text(text)],
        };
        let led = way.runs(vec![step(4, "undo it"), Run::text(" (step 4)")]);
        assert_eq!(said(&led), "undo it (step 4, page [t7/bowl/step-4])");
        let led = way.runs(vec![step(4, "step 4"), Run::text(" dry (no rag)")]);
        assert_eq!(said(&led), "step 4 (page )[t7/bowl/step-4] dry (no rag)");
        // What is not in the manual is named, and leads nowhere.
        let led = way.runs(vec![step(5, "step 5"), Run::text(" (step 5)")]);
        assert_eq!(led, [Run::text("step 5"), Run::text(" (step 5)")]);
    }

    #[test]
    fn nobody_writes_in_a_table_of_the_manual() {
        use crate::page::Column;
        let column = |title: &str| Column {
            title: title.to_owned(),
            share: 1,
        };
        let options = vec!["right".to_owned()];
        let table = without_entries(Table {
            caption: String::new(),
            columns: vec![column("cause"), column("found"), column("mend")],
            rows: vec![
                vec![Cell::text("1"), Cell::Blank, Cell::text("")],
                vec![Cell::text("2"), Cell::Choice { options }, Cell::text("")],
            ],
        });
        let titles: Vec<&str> = table.columns.iter().map(|one| one.title.as_str()).collect();
        assert_eq!(titles, ["cause", "mend"]);
        assert!(table.rows.iter().all(|row| row.len() == 2));
    }
}
