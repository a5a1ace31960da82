//! `benchleaf torque`

use super::bench::{AnswerArguments, limits, quantity, unit};
use super::exit::{CliError, ExitStatus};
use crate::quantity::{Gallons, Kind, Limits, Unit, UnitOrder};
use crate::trade::{
    Condition, Head, Material, StrengthClass, Tapped, Thread, extension_setting, takes,
};
use clap::Args;
use serde::Serialize;

/// Convert a torque, correct it for an extension, or calculate the torque for a thread
///
/// For a torque, prints it in other units. With `--wrench` and `--extension`, also prints what to
/// set on the wrench. For a thread and a class, calculates the torque of the joint and prints the
/// calculation. This is a guide, because friction varies: the machine maker's value takes precedence.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  benchleaf torque '9 N·m ± 1 N·m'
  benchleaf torque '9 N·m' --wrench '250 mm' --extension '50 mm'
  benchleaf torque '20 ft-lb' --wrench '12 in' --extension '2 in' --angle 45°
  benchleaf torque M6 --class 8.8
  benchleaf torque M6 --class 8.8 --state oiled --into aluminium --engagement '9 mm'")]
pub(super) struct Arguments {
    /// A torque, such as `9 N·m`, or a thread, such as `M6`, `M10x1.25` or `1/4-20 UNC`
    #[arg(value_name = "WHAT")]
    what: String,

    /// Unit to convert to, by default the usual units; can be repeated
    #[arg(long, value_name = "UNIT")]
    to: Vec<String>,

    /// Length of the wrench, from the middle of the grip to the drive
    #[arg(long, value_name = "LENGTH", requires = "extension")]
    wrench: Option<String>,

    /// Length of the extension or crowfoot, from the drive to the fastener
    #[arg(long, value_name = "LENGTH", requires = "wrench")]
    extension: Option<String>,

    /// Angle of the extension from the line of the wrench
    #[arg(
        long,
        value_name = "ANGLE",
        requires = "extension",
        default_value = "0°"
    )]
    angle: String,

    /// Class or grade of the fastener, such as `8.8`, `A2-70` or `grade 5`
    #[arg(long, value_name = "CLASS")]
    class: Option<String>,

    /// State of the thread: dry (the default), oiled, plated or threadlocker
    #[arg(long, value_name = "STATE")]
    state: Option<String>,

    /// Material of the tapped hole: aluminium or plastic
    #[arg(long, value_name = "MATERIAL", requires = "engagement")]
    into: Option<String>,

    /// Length of thread that is screwed in
    #[arg(long, value_name = "LENGTH", requires = "into")]
    engagement: Option<String>,

    #[command(flatten)]
    answer: AnswerArguments,
}

#[derive(Serialize)]
#[serde(untagged)]
enum Answer {
    Torque {
        given: String,
        also: Vec<String>,
        set: Option<String>,
    },
    Joint {
        thread: String,
        class: String,
        state: &'static str,
        torque: String,
        also: Vec<String>,
        ceiling: String,
        arithmetic: Vec<String>,
        wrenches: Vec<String>,
    },
}

pub(super) fn run(arguments: &Arguments) -> Result<ExitStatus, CliError> {
    // A torque has a unit, so a thread never parses as a torque.
    let (answer, lines) = match Limits::parse(&arguments.what) {
        Ok(given) if given.kind() == Kind::Torque => answer_torque(arguments, &given)?,
        _ => match Thread::parse(&arguments.what) {
            Ok(thread) => answer_thread(arguments, &thread)?,
            Err(_) if looks_like_torque(&arguments.what) => {
                return Err(not_torque_error(&arguments.what));
            }
            Err(error) => return Err(error.into()),
        },
    };
    arguments.answer.print(&answer, &lines);
    Ok(ExitStatus::Success)
}

fn looks_like_torque(text: &str) -> bool {
    text.starts_with(|letter: char| letter.is_ascii_digit() || letter == '(')
        && !text.contains(['-', '/'])
}

/// The error for text that is a value of another kind, or no value at all.
fn not_torque_error(text: &str) -> CliError {
    match limits(text) {
        Ok(value) => CliError::new(format!(
            "expected a torque or a thread, found the {} `{text}`",
            value.kind().name()
        )),
        Err(error) => error,
    }
}

fn answer_torque(arguments: &Arguments, given: &Limits) -> Result<(Answer, Vec<String>), CliError> {
    if arguments.class.is_some() || arguments.into.is_some() || arguments.state.is_some() {
        return Err(CliError::new("a torque has no class, state or hole")
            .help("give a thread to use them: `benchleaf torque M6 --class 8.8`"));
    }
    let also = in_other_units(arguments, given)?;
    let mut lines = vec![given.text()];
    lines.extend(also.iter().map(|text| format!("= {text}")));
    let mut set = None;
    if let (Some(wrench), Some(extension)) = (&arguments.wrench, &arguments.extension) {
        let aim = given
            .nominal()
            .ok_or_else(|| CliError::new("expected one torque to set, such as `9 N·m`"))?;
        let wrench = quantity(wrench, Kind::Length)?;
        let extension = quantity(extension, Kind::Length)?;
        let angle = quantity(&arguments.angle, Kind::Angle)?;
        let setting = extension_setting(&aim, &wrench, &extension, &angle)?;
        lines.push(format!(
            "set the wrench to {}: {} × {} / ({} + {} × cos {})",
            setting.text(),
            aim.text(),
            wrench.text(),
            wrench.text(),
            extension.text(),
            angle.text()
        ));
        set = Some(setting.text());
    }
    let given = given.text();
    Ok((Answer::Torque { given, also, set }, lines))
}

fn answer_thread(
    arguments: &Arguments,
    thread: &Thread,
) -> Result<(Answer, Vec<String>), CliError> {
    if arguments.wrench.is_some() {
        return Err(CliError::new("an extension needs a torque to set").help(
            "give one as in `benchleaf torque '9 N·m' --wrench '250 mm' --extension '50 mm'`",
        ));
    }
    let Some(class) = &arguments.class else {
        return Err(
            CliError::new(format!("the torque for `{thread}` depends on its class"))
                .help("give it with --class; a class such as `8.8` is marked on the bolt's head"),
        );
    };
    let class = StrengthClass::parse(class)?;
    let state = Condition::parse(arguments.state.as_deref().unwrap_or("dry"))?;
    let tapped = match (&arguments.into, &arguments.engagement) {
        (Some(into), Some(engagement)) => {
            let material = Material::parse(into)?;
            let engagement = quantity(engagement, Kind::Length)?;
            Some(Tapped::new(material, engagement)?)
        }
        _ => None,
    };
    let joint = takes(thread, class, state, tapped.as_ref())?;
    let torque = Limits::from(joint.torque.clone());
    let also = in_other_units(arguments, &torque)?;
    let wrenches = wrenches(thread);
    let mut lines = vec![format!(
        "{thread}, class {class}, {state}: about {}",
        joint.torque.text()
    )];
    lines.extend(also.iter().map(|text| format!("= {text}")));
    lines.extend(joint.arithmetic.iter().map(|line| format!("  {line}")));
    lines.push(format!(
        "do not exceed {} unless the maker's value does",
        joint.ceiling.text()
    ));
    lines.extend(
        wrenches
            .iter()
            .map(|wrench| format!("wrench or key: {wrench}")),
    );
    let answer = Answer::Joint {
        thread: thread.to_string(),
        class: class.to_string(),
        state: state.name(),
        torque: joint.torque.text(),
        also,
        ceiling: joint.ceiling.text(),
        arithmetic: joint.arithmetic,
        wrenches,
    };
    Ok((answer, lines))
}

/// Each wrench size for a thread, once, with the kinds of head that it fits.
fn wrenches(thread: &Thread) -> Vec<String> {
    let mut sizes: Vec<(String, Vec<&str>)> = Vec::new();
    for head in Head::ALL {
        let Some(size) = head.across_flats(thread) else {
            continue;
        };
        match sizes.iter_mut().find(|(listed, _)| *listed == size.text()) {
            Some((_, heads)) => heads.push(head.name()),
            None => sizes.push((size.text(), vec![head.name()])),
        }
    }
    let sizes = sizes.into_iter();
    sizes
        .map(|(size, heads)| format!("{size} ({})", heads.join(", ")))
        .collect()
}

fn in_other_units(arguments: &Arguments, given: &Limits) -> Result<Vec<String>, CliError> {
    let order = UnitOrder::default();
    let units: Vec<Unit> = if arguments.to.is_empty() {
        let usual = order.units(Kind::Torque).iter().copied();
        usual.filter(|unit| *unit != given.unit()).collect()
    } else {
        arguments
            .to
            .iter()
            .map(|text| unit(text, Gallons::Unstated))
            .collect::<Result<_, _>>()?
    };
    let convert = |unit: Unit| {
        given
            .text_in(unit)
            .ok_or_else(|| CliError::new(format!("`{}` is not a unit of torque", unit.symbol())))
    };
    units.into_iter().map(convert).collect()
}
