//! Tables.

use super::{BareValue, Drawing, LinkTarget, TextRun, Value};
use serde::Serialize;

#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct Table {
    /// The table's name for screen readers. In print, the section's title names the table.
    pub(crate) caption: String,
    pub(crate) columns: Vec<Column>,
    /// Each row has one cell per column.
    pub(crate) rows: Vec<Vec<Cell>>,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct Column {
    pub(crate) title: String,
    /// The column's share of the width, relative to the shares of the other columns.
    pub(crate) share: u8,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(tag = "cell", rename_all = "kebab-case")]
pub(crate) enum Cell {
    Text {
        /// Empty for an empty cell.
        runs: Vec<TextRun>,
    },
    /// A row header.
    Name {
        text: String,
        /// The record that the row is about, used to build an index. It is not printed.
        #[serde(skip)]
        subject: Option<RowSubject>,
    },
    /// A row header that is a link target.
    Place {
        text: String,
        /// The target that the row is.
        place: LinkTarget,
        /// Where its text leads to on a page. Print does without it.
        link: Option<LinkTarget>,
    },
    Value {
        value: Value,
    },
    /// Options, one of which is ticked.
    Choice {
        options: Vec<String>,
    },
    /// A drawing, with a text below it.
    Drawing {
        text: String,
        drawing: Box<Drawing>,
    },
    /// A box to tick.
    Tick,
    /// Space to write.
    Blank,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(crate) enum RowSubject {
    /// The id of a part of the machine.
    Part(String),
    /// The number of a cause in a fault table.
    Cause(u32),
}

impl Table {
    /// Puts the unit of a column in its title if all its values have that unit, and aligns their decimal marks. A column
    /// with a single value stays as it is.
    pub(super) fn share_units(&mut self) {
        for (index, column) in self.columns.iter_mut().enumerate() {
            let mut values: Vec<&mut Value> = Vec::new();
            for row in &mut self.rows {
                match row.get_mut(index) {
                    Some(Cell::Value { value }) => values.push(value),
                    Some(cell) if cell.is_empty() => {}
                    _ => {
                        values.clear();
                        break;
                    }
                }
            }
            let bare = values.iter().map(|value| value.bare.as_ref());
            let Some(bare) = bare.collect::<Option<Vec<&BareValue>>>() else {
                continue;
            };
            let Some(unit) = bare.first().map(|first| first.unit.clone()) else {
                continue;
            };
            if bare.len() < 2 || bare.iter().any(|value| value.unit != unit) {
                continue;
            }
            let widths = || bare.iter().map(|value| whole_digits(&value.numbers));
            // Values that begin with words, such as "at least", are not aligned.
            let widest = widths()
                .min()
                .filter(|least| *least > 0)
                .and(widths().max());
            column.title = format!("{}, {unit}", column.title);
            for value in values {
                let Some(bare) = value.bare.take() else {
                    continue;
                };
                let widest = widest.unwrap_or_default();
                let missing = widest.saturating_sub(whole_digits(&bare.numbers));
                // A figure space is as wide as a digit.
                value.first = "\u{2007}".repeat(missing) + &bare.numbers;
            }
        }
    }
}

/// The number of digits before the decimal mark of the first number of a text.
fn whole_digits(text: &str) -> usize {
    text.chars().take_while(char::is_ascii_digit).count()
}

impl Cell {
    /// Whether nothing is printed, or a dash.
    fn is_empty(&self) -> bool {
        match self {
            Cell::Text { runs } => match runs.as_slice() {
                [] => true,
                [TextRun::Text { text }] => text.is_empty() || text == "–",
                _ => false,
            },
            _ => false,
        }
    }

    /// A row header.
    pub(crate) fn name(text: impl Into<String>) -> Cell {
        Cell::Name {
            text: text.into(),
            subject: None,
        }
    }

    /// A row header for a row about a part.
    pub(crate) fn part(text: impl Into<String>, part: &str) -> Cell {
        Cell::Name {
            text: text.into(),
            subject: Some(RowSubject::Part(part.to_owned())),
        }
    }

    pub(crate) fn text(text: impl Into<String>) -> Cell {
        Cell::Text {
            runs: vec![TextRun::text(text)],
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn value(first: &str, bare: Option<(&str, &str)>) -> Cell {
        Cell::Value {
            value: Value {
                first: first.to_owned(),
                second: None,
                unverified: false,
                bare: bare.map(|(numbers, unit)| BareValue {
                    numbers: numbers.to_owned(),
                    unit: unit.to_owned(),
                }),
            },
        }
    }

    /// The title of a column and its texts.
    fn printed(cells: Vec<Cell>) -> (String, Vec<String>) {
        let mut table = Table {
            caption: "Values".to_owned(),
            columns: vec![Column {
                title: "Torque".to_owned(),
                share: 1,
            }],
            rows: cells.into_iter().map(|cell| vec![cell]).collect(),
        };
        table.share_units();
        let texts = table.rows.iter().flatten().map(|cell| match cell {
            Cell::Value { value } => value.first.clone(),
            _ => String::new(),
        });
        let texts = texts.collect();
        (table.columns.remove(0).title, texts)
    }

    #[test]
    fn a_shared_unit_is_in_the_title_and_decimal_marks_are_aligned() {
        let torque = |numbers: &'static str| value("", Some((numbers, "N·m")));
        let (title, texts) = printed(vec![
            torque("9.8 ± 1"),
            Cell::text("–"),
            torque("112"),
            torque("24 ± 2"),
        ]);
        assert_eq!(title, "Torque, N·m");
        let space = "\u{2007}";
        assert_eq!(
            texts,
            [
                format!("{space}{space}9.8 ± 1"),
                String::new(),
                "112".to_owned(),
                format!("{space}24 ± 2")
            ]
        );
    }

    #[test]
    fn values_with_words_are_not_aligned() {
        let (title, texts) = printed(vec![
            value("", Some(("at least 1.3", "mm"))),
            value("", Some(("12 to 14", "mm"))),
        ]);
        assert_eq!(title, "Torque, mm");
        assert_eq!(texts, ["at least 1.3", "12 to 14"]);
    }

    #[test]
    fn a_column_of_several_units_or_one_value_keeps_them() {
        for cells in [
            vec![
                value("9 N·m", Some(("9", "N·m"))),
                value("3 mm", Some(("3", "mm"))),
            ],
            vec![
                value("9 N·m", Some(("9", "N·m"))),
                value("half a turn", None),
            ],
            vec![value("9 N·m", Some(("9", "N·m")))],
            vec![
                value("9 N·m", Some(("9", "N·m"))),
                Cell::text("hand tight"),
                value("8 N·m", Some(("8", "N·m"))),
            ],
        ] {
            let kept = cells.clone();
            let (title, texts) = printed(cells);
            assert_eq!(title, "Torque");
            assert_eq!(texts[0], "9 N·m", "{kept:?}");
        }
    }
}
