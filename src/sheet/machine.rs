//! Sheets about a machine: its data, its intervals and its safety messages.

use super::details::fastener;
use super::mix::{capacity_of, mix_text};
use super::pattern::pattern_cell;
use super::safety::by_severity;
use super::serials;
use super::setting::{meter_setting_text, setting_text};
use super::summary::Summary;
use crate::finding::Located;
use crate::page::text::minutes;
use crate::page::{
    Block, Cell, HeadText, JobId, LinkTarget, OutputContext, PageContext, PageId, Sheet, SheetKind,
    TextRun, Topic, author_words,
};
use crate::quantity::Spec;
use crate::shop::{CribChoice, Generator, Machine, Part, Reading, Shop, Tool};
use crate::trade::DroopOf;
use crate::words::Interval;

/// A sheet of a machine, one of [`SheetKind::OF_MACHINE`]. `None` for another kind, or if the sheet
/// would be empty. `jobs` are the machine's jobs.
#[must_use]
pub(crate) fn machine_sheet(
    kind: SheetKind,
    shop: &Shop,
    machine: &Machine,
    jobs: &[&Summary<'_>],
    output: &OutputContext,
) -> Option<Sheet> {
    let writer = MachineWriter {
        context: PageContext { shop, output },
        machine,
        jobs,
    };
    let mut blocks = writer.blocks(kind);
    if blocks.is_empty() {
        return None;
    }
    if kind == SheetKind::IntervalChart {
        blocks.extend(writer.due_on_units());
    }
    blocks.push(writer.context.notices());
    let page = PageId::MachineSheet(kind, machine.id.clone());
    let head_text = writer.head_text(kind);
    Some(writer.context.sheet(page, kind, head_text, blocks))
}

/// The facts about a machine that its pages begin with, each with the key of its label.
pub(crate) fn machine_facts(
    context: PageContext<'_>,
    machine: &Machine,
) -> Vec<(&'static str, String)> {
    let engine = machine.engine.as_ref();
    let generator = machine.generator.as_ref();
    let like = machine.like.as_ref();
    let like = like.and_then(|like| context.shop.machines.get(&like.value));
    let [serial_numbers, fitted] = serials::facts(context, machine);
    let facts = [
        serial_numbers,
        fitted,
        ("variant-of", like.map(|like| like.name.value.clone())),
        ("engine", engine.and_then(|engine| engine.kind.clone())),
        (
            "generator",
            generator.map(|generator| generator_text(context, generator)),
        ),
        ("basis", machine.basis.clone()),
    ];
    let facts = facts.into_iter();
    facts.filter_map(|(key, text)| Some((key, text?))).collect()
}

/// "2 poles, 50 Hz ± 2 Hz, droop 4 % of the full-load speed".
fn generator_text(context: PageContext<'_>, generator: &Generator) -> String {
    let words = context.words();
    let shown = |spec: &Located<Spec>| context.spec(&spec.value, false).first;
    let poles = words.format("poles", &[("count", &generator.poles.value.to_string())]);
    let droop = generator.droop.as_ref().map(|droop| {
        let key = match context.shop.droop_of {
            DroopOf::FullLoad => "droop-of-full-load",
            DroopOf::NoLoad => "droop-of-no-load",
        };
        words.format(key, &[("droop", &shown(droop))])
    });
    let facts = [Some(poles), Some(shown(&generator.frequency)), droop];
    let facts: Vec<String> = facts.into_iter().flatten().collect();
    facts.join(", ")
}

pub(crate) struct MachineWriter<'w, 'a> {
    pub(crate) context: PageContext<'w>,
    pub(crate) machine: &'w Machine,
    pub(crate) jobs: &'w [&'w Summary<'a>],
}

impl MachineWriter<'_, '_> {
    /// The blocks of a sheet of the machine, without the notices. Empty for a kind that machines do
    /// not have.
    pub(crate) fn blocks(&self, kind: SheetKind) -> Vec<Block> {
        match kind {
            SheetKind::MachineData => self.data(),
            SheetKind::IntervalChart => self.intervals(),
            SheetKind::PartsList => self.parts_list(),
            SheetKind::CautionSheet => {
                let cautions = self
                    .jobs
                    .iter()
                    .flat_map(|job| job.cautions.iter().copied());
                self.context.messages(&by_severity(cautions))
            }
            _ => Vec::new(),
        }
    }

    fn head_text(&self, kind: SheetKind) -> HeadText {
        let machine = self.machine;
        let facts = machine_facts(self.context, machine);
        let is_chart = kind == SheetKind::IntervalChart;
        HeadText {
            title: self.context.words().get(kind.title_key()).to_owned(),
            machine: Some(machine.name.value.clone()),
            revision: None,
            revised: None,
            facts,
            entries: if is_chart { &["serial-number"] } else { &[] },
            serials: Vec::new(),
        }
    }

    fn data(&self) -> Vec<Block> {
        let sections = [
            self.differences(),
            self.torques(),
            self.readings(),
            self.fluids(),
            self.positions(),
            self.wear(),
            self.connections(),
            self.context.energies(self.machine.energies.values()),
            self.parts(),
            self.access(),
            self.guards(),
        ];
        sections.into_iter().flatten().collect()
    }

    fn torques(&self) -> Option<Block> {
        let mut rows = Vec::new();
        let fasteners = self.machine.parts.values();
        for part in fasteners.filter(|part| !part.stages.is_empty()) {
            let stages = part.stages.len();
            for (index, stage) in part.stages.iter().enumerate() {
                let once = |text: Option<String>| text.filter(|_| index == 0).unwrap_or_default();
                let class = part.class.as_ref().map(|class| class.value.to_string());
                let tool = match self.context.shop.torque_tool_for(part) {
                    Some(CribChoice::Covers(tool)) => Some(tool),
                    _ => None,
                };
                let limits = stage.spec.value.limits();
                let words = self.context.words();
                let setting = tool.and_then(|tool| setting_text(words, tool, None, limits));
                let name = once(tool.map(|tool| tool.name.clone()));
                let set_with: Vec<String> = [Some(name), setting]
                    .into_iter()
                    .flatten()
                    .filter(|text| !text.is_empty())
                    .collect();
                rows.push(vec![
                    Cell::part(
                        if stages > 1 {
                            format!(
                                "{}, {}",
                                fastener(part),
                                self.context.stage_name(index + 1, stages)
                            )
                        } else {
                            fastener(part)
                        },
                        &part.key,
                    ),
                    Cell::text(once(class)),
                    Cell::Value {
                        value: self.context.value(stage),
                    },
                    Cell::text(once(self.context.drive_text(part))),
                    Cell::text(set_with.join(", ")),
                    pattern_cell(words, part, index == 0),
                ]);
            }
        }
        let columns = [
            ("fastener", 12),
            ("class", 3),
            ("torque", 12),
            ("wrench-head", 8),
            ("set-with", 18),
            ("pattern", 6),
        ];
        self.context.table_section(Topic::Torques, &columns, rows)
    }

    fn readings(&self) -> Option<Block> {
        let readings = self.machine.readings.values();
        // The dimensions of parts are in the table of wear.
        let readings = readings.filter(|reading| reading.dimension.is_none());
        let rows = readings.filter_map(|reading| {
            let limits = self.context.limits(reading)?;
            let tool = self.context.shop.tool_of(reading);
            Some(vec![
                Cell::name(reading.name.clone()),
                Cell::Value { value: limits },
                Cell::text(tool_text(self.context, tool, reading)),
                Cell::text(self.context.remedies(reading)),
            ])
        });
        let columns = [
            ("reading", 5),
            ("limits-head", 5),
            ("tool", 4),
            ("if-out", 7),
        ];
        let rows: Vec<Vec<Cell>> = rows.collect();
        if rows.is_empty() {
            return None;
        }
        let caption = self.context.words().get(Topic::Readings.name());
        let table = self.context.table(caption, &columns, rows);
        let tables = std::iter::once(table).chain(self.calculated());
        Some(self.context.section(Topic::Readings, tables.collect()))
    }

    /// From what the limits of readings were calculated, and by which calculation.
    fn calculated(&self) -> Option<Block> {
        let words = self.context.words();
        let rows = self.machine.readings.values().filter_map(|reading| {
            let calculated = reading.calculated.as_ref()?;
            let inputs = calculated.inputs.iter();
            let inputs: Vec<String> = inputs
                .map(|input| {
                    let value = match input.limits() {
                        Some(limits) => words.value(&limits.parts()),
                        None => input.text().replace('.', &words.decimal_mark().to_string()),
                    };
                    format!("{} {value}", input.input().name)
                })
                .collect();
            Some(vec![
                Cell::name(reading.name.clone()),
                Cell::text(calculated.calculation.name),
                Cell::text(inputs.join("; ")),
            ])
        });
        let rows: Vec<Vec<Cell>> = rows.collect();
        let columns = [("reading", 5), ("calculation", 4), ("calculated-from", 12)];
        let caption = words.get("calculated-limits");
        (!rows.is_empty()).then(|| self.context.table(caption, &columns, rows))
    }

    fn fluids(&self) -> Option<Block> {
        let rows = self.machine.fluids.values().map(|fluid| {
            let supply = self.context.shop.supply_of(fluid);
            let capacity = fluid.capacity.as_ref().and_then(capacity_of);
            let mix = supply.and_then(|supply| mix_text(self.context, supply, capacity));
            let note = supply.and_then(|supply| supply.note.clone());
            vec![
                Cell::name(fluid.name.clone()),
                Cell::text(supply.map(|supply| supply.name.clone()).unwrap_or_default()),
                match &fluid.capacity {
                    Some(capacity) => Cell::Value {
                        value: self.context.value(capacity),
                    },
                    None => Cell::text("–"),
                },
                Cell::text(mix.or(note).unwrap_or_default()),
            ]
        });
        let columns = [
            ("fluid", 5),
            ("filled-with", 5),
            ("capacity", 4),
            ("remark", 7),
        ];
        self.context
            .table_section(Topic::Fluids, &columns, rows.collect())
    }

    fn positions(&self) -> Option<Block> {
        let linkages = self.machine.parts.values();
        let linkages = linkages.filter(|part| part.is_linkage() || part.position.is_some());
        let rows = linkages.map(|part| {
            let positions: Vec<String> = part
                .positions
                .iter()
                .map(|position| self.position_with_value(part, &position.value))
                .collect();
            let position = match &part.position {
                Some(position) => Cell::text(position.value.clone()),
                None => Cell::Text {
                    runs: vec![TextRun::Emphasis {
                        runs: vec![TextRun::text(self.context.words().get("note-before"))],
                    }],
                },
            };
            vec![
                Cell::part(part.name.clone(), &part.key),
                position,
                Cell::text(self.context.words().choice(&positions)),
                Cell::text(part.orientation.clone().unwrap_or_default()),
            ]
        });
        let columns = [
            ("part", 5),
            ("position", 5),
            ("possible-positions", 6),
            ("orientation", 5),
        ];
        self.context
            .table_section(Topic::Positions, &columns, rows.collect())
    }

    /// A position, with the values of the reading which it is for: "hole A (2,900 rpm to 3,100 rpm)".
    fn position_with_value(&self, part: &Part, position: &str) -> String {
        let mut ranges = part.position_for.iter();
        match ranges.find(|(of, _)| of.value == position) {
            Some((_, range)) => {
                let range = self.context.spec(&range.value, false).first;
                format!("{position} ({range})")
            }
            None => position.to_owned(),
        }
    }

    /// The parts that have an order number.
    fn parts(&self) -> Option<Block> {
        let parts = self.machine.parts.values();
        let rows = parts.filter(|part| part.number.is_some()).map(|part| {
            vec![
                Cell::part(part.name.clone(), &part.key),
                Cell::text(part.number.clone().unwrap_or_default()),
                Cell::text(part.count.to_string()),
                Cell::text(remarks(self.context, part)),
            ]
        });
        let columns = [("part", 6), ("number", 4), ("quantity", 2), ("remark", 6)];
        self.context
            .table_section(Topic::Parts, &columns, rows.collect())
    }

    /// When a job is due: by its interval, and by those of its inspections.
    fn due<'j>(&self, job: &'j Summary<'j>) -> Vec<DueJob<'j>> {
        let own = job.procedure.interval.iter().map(|text| &text.value);
        let inspections = job.procedure.inspections().map(|section| &section.title);
        own.chain(inspections)
            .filter_map(|text| self.due_by(job, text))
            .collect()
    }

    /// `None` if the text is no interval, which has been reported.
    fn due_by<'j>(&self, job: &'j Summary<'j>, text: &str) -> Option<DueJob<'j>> {
        let interval = author_words(self.context.shop).read_interval(text).ok()?;
        let words = self.context.words();
        let shown =
            |part: Option<Interval>| part.map_or_else(String::new, |part| words.interval(&part));
        Some(DueJob {
            job,
            hours: interval.hours(),
            by_hours: if interval.first.is_empty() {
                shown(interval.by_hours()).replace(' ', "\u{a0}")
            } else {
                shown(interval.by_hours())
            },
            by_calendar: shown(interval.by_others()),
        })
    }

    /// The jobs with an interval, the most frequent first, each with its interval.
    pub(crate) fn due_jobs(&self) -> Vec<(&Summary<'_>, String)> {
        let due = self.sorted_due().into_iter().map(|due| {
            let intervals = [due.by_hours, due.by_calendar];
            let intervals = intervals.into_iter().filter(|text| !text.is_empty());
            let intervals: Vec<String> = intervals.collect();
            (due.job, intervals.join(", "))
        });
        due.collect()
    }

    fn sorted_due(&self) -> Vec<DueJob<'_>> {
        let mut due: Vec<DueJob<'_>> = self.jobs.iter().flat_map(|job| self.due(job)).collect();
        due.sort_by(|left, right| left.rank().cmp(&right.rank()));
        due
    }

    /// The interval chart: jobs by hours first, the most frequent first, then jobs by the calendar.
    fn intervals(&self) -> Vec<Block> {
        let rows = self.sorted_due().into_iter().map(|due| {
            let job = due.job;
            let title = TextRun::text(job.procedure.title.value.clone());
            let job_id = JobId::new(&self.machine.id, &job.procedure.id);
            let title = TextRun::link(LinkTarget::Job(job_id), vec![title]);
            vec![
                Cell::Text { runs: vec![title] },
                Cell::text(due.by_hours),
                Cell::text(due.by_calendar),
                Cell::text(
                    job.minutes
                        .map(|count| self.context.words().own(&minutes(count)).into_owned())
                        .unwrap_or_default()
                        .replace(' ', "\u{a0}"),
                ),
                Cell::Blank,
                Cell::Blank,
                Cell::Blank,
            ]
        });
        let columns = [
            ("job", 7),
            ("by-hours", 3),
            ("by-calendar", 4),
            ("time", 3),
            ("done-at", 3),
            ("done-at", 3),
            ("done-at", 3),
        ];
        let rows: Vec<Vec<Cell>> = rows.collect();
        if rows.is_empty() {
            return Vec::new();
        }
        let section = self.context.table_section(Topic::Due, &columns, rows);
        section.into_iter().collect()
    }
}

/// "multimeter, set to DC V 20".
fn tool_text(context: PageContext<'_>, tool: Option<&Tool>, reading: &Reading) -> String {
    let name = tool.map(|tool| tool.name.clone());
    let texts: Vec<String> = name
        .into_iter()
        .chain(meter_setting_text(context, reading))
        .collect();
    texts.join(", ")
}

/// What the table of parts says beside a part: whether it is single-use, or its note; and the numbers that its number
/// replaces.
pub(super) fn remarks(context: PageContext<'_>, part: &Part) -> String {
    let words = context.words();
    let single = part.single_use.then(|| words.get("single-use").to_owned());
    let old: Vec<&str> = part
        .supersedes
        .iter()
        .map(|old| old.value.as_str())
        .collect();
    let replaces = (!old.is_empty())
        .then(|| words.format("replaces", &[("numbers", old.join(", ").as_str())]));
    let remarks = [single.or_else(|| part.note.clone()), replaces];
    let remarks: Vec<String> = remarks.into_iter().flatten().collect();
    remarks.join("; ")
}

/// A row of the interval chart.
struct DueJob<'j> {
    job: &'j Summary<'j>,
    hours: Option<u32>,
    by_hours: String,
    by_calendar: String,
}

impl DueJob<'_> {
    /// The sort key: jobs with an interval in hours first, the most frequent first.
    fn rank(&self) -> (u32, &str, &str) {
        let hours = self.hours.unwrap_or(u32::MAX);
        (hours, &self.by_calendar, &self.job.procedure.title.value)
    }
}
