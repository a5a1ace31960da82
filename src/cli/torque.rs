//! `benchleaf torque`

use super::bench::{AnswerArguments, limits, quantity, unit, with_six_decimals};
use super::exit::{CliError, ExitStatus};
use crate::quantity::{Gallons, Kind, Limits, Quantity, Rational, Spec, Unit, UnitOrder};
use crate::trade::{
    Condition, Extension, Head, Material, PlausibleTorque, StrengthClass, Tapped, Thread,
    TorqueTool, Window, takes,
};
use clap::Args;
use serde::Serialize;

/// Convert a torque, correct it for an extension, or calculate the torque for a thread
///
/// For a torque, prints it in other units. With `--wrench` and `--extension`, also prints what to
/// set on the wrench; for limits also the range to set within. With `--tool`, prints a setting that
/// is a mark of the tool and keeps the torque within its limits for any error of the tool. For a
/// thread and a class, calculates the torque of the joint and prints the calculation. This is a guide,
/// because friction varies: the machine maker's value takes precedence.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  benchleaf torque '9 N·m ± 1 N·m'
  benchleaf torque '20 N·m + 90°'
  benchleaf torque '9 N·m' --wrench '250 mm' --extension '50 mm'
  benchleaf torque '20 ft-lb' --wrench '12 in' --extension '2 in' --angle 45°
  benchleaf torque '9 N·m ± 1 N·m' --tool '5 N·m to 25 N·m' --graduation '0.2 N·m'
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

    /// Range of the torque tool, such as `5 N·m to 25 N·m`
    #[arg(long, value_name = "RANGE")]
    tool: Option<String>,

    /// Interval between two marks of the tool's scale
    #[arg(long, value_name = "TORQUE", requires = "tool")]
    graduation: Option<String>,

    /// Tolerance of the tool, by default that of ISO 6789: 4 %, or 6 % up to 10 N·m
    #[arg(long, value_name = "PERCENT", requires = "tool")]
    tolerance: Option<String>,

    /// Class or grade of the fastener, such as `8.8`, `A2-70` or `grade 5`
    #[arg(long, value_name = "CLASS")]
    class: Option<String>,

    /// State of the thread: dry (the default), oiled, plated or threadlocker
    #[arg(long, value_name = "STATE")]
    state: Option<String>,

    /// Material of the tapped hole: steel, cast iron, aluminium or plastic
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
        /// What to set on the wrench.
        set: Option<String>,
        /// The least and the greatest safe setting, rounded inwards.
        #[serde(skip_serializing_if = "Option::is_none")]
        set_least: Option<String>,
        #[serde(skip_serializing_if = "Option::is_none")]
        set_most: Option<String>,
    },
    Joint {
        thread: String,
        class: String,
        state: &'static str,
        recommended: String,
        also: Vec<String>,
        ceiling: String,
        strips_at: Option<String>,
        arithmetic: Vec<String>,
        wrenches: Vec<String>,
    },
}

pub(super) fn run(arguments: &Arguments) -> Result<ExitStatus, CliError> {
    // A torque has a unit, so a thread never parses as a torque.
    let (answer, lines) = match Spec::parse(&arguments.what) {
        Ok(given) if given.limits().kind() == Kind::Torque => answer_torque(arguments, &given)?,
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

fn answer_torque(arguments: &Arguments, spec: &Spec) -> Result<(Answer, Vec<String>), CliError> {
    if arguments.class.is_some() || arguments.into.is_some() || arguments.state.is_some() {
        return Err(CliError::new("a torque has no class, state or hole")
            .help("give a thread to use them: `benchleaf torque M6 --class 8.8`"));
    }
    let also = in_other_units(arguments, spec)?;
    let mut lines = vec![spec.text()];
    let given = spec.limits();
    lines.extend(also.iter().map(|text| format!("= {text}")));
    let extension = extension(arguments)?;
    let mut set = None;
    let mut window = None;
    if let Some(extension) = &extension {
        let setting = extension.setting_within(given).ok_or_else(|| {
            CliError::new(format!(
                "no setting is certain to be within `{}`",
                given.text()
            ))
        })?;
        window = extension.window(given);
        lines.push(arithmetic(arguments, given, &setting.text())?);
        if arguments.tool.is_none() {
            lines.extend(
                window
                    .as_ref()
                    .map(|window| format!("set it within {window}")),
            );
        }
        set = Some(setting.text());
    }
    if let Some(tool) = tool(arguments)? {
        let tool = match extension {
            Some(extension) => tool.extended(extension),
            None => tool,
        };
        let setting = tool
            .setting(given)
            .ok_or_else(|| no_setting_error(&tool, given))?;
        let safe = setting.window.as_ref();
        let safe = safe.map(|window| format!(" (safe: {window})"));
        lines.push(format!(
            "set the tool to {}{}",
            setting.value.text(),
            safe.unwrap_or_default()
        ));
        set = Some(setting.value.text());
        window = setting.window;
    }
    if let Some(turn) = spec.then_turn().filter(|_| set.is_some()) {
        lines.push(format!("then turn it by {}", turn.text()));
    }
    let given = spec.text();
    let bound = |bound: fn(&Window) -> Option<&Quantity>| {
        window.as_ref().and_then(bound).map(Quantity::text)
    };
    let answer = Answer::Torque {
        given,
        also,
        set,
        set_least: bound(|window| window.least.as_ref()),
        set_most: bound(|window| window.most.as_ref()),
    };
    Ok((answer, lines))
}

fn extension(arguments: &Arguments) -> Result<Option<Extension>, CliError> {
    let (Some(wrench), Some(extension)) = (&arguments.wrench, &arguments.extension) else {
        return Ok(None);
    };
    let wrench = quantity(wrench, Kind::Length)?;
    let extension = quantity(extension, Kind::Length)?;
    let angle = quantity(&arguments.angle, Kind::Angle)?;
    Ok(Some(Extension::new(&wrench, &extension, &angle)?))
}

fn tool(arguments: &Arguments) -> Result<Option<TorqueTool>, CliError> {
    let Some(range) = &arguments.tool else {
        return Ok(None);
    };
    let tolerance = arguments.tolerance.as_ref();
    let tolerance = tolerance
        .map(|text| quantity(text, Kind::Percent))
        .transpose()?;
    let tool = TorqueTool::new(&limits(range)?, tolerance.as_ref())?;
    Ok(Some(match &arguments.graduation {
        Some(interval) => tool.graduated(&quantity(interval, Kind::Torque)?)?,
        None => tool,
    }))
}

/// "set the wrench to 7.50 N·m: 9 N·m × 250 mm / (250 mm + 50 mm × cos 0°)".
fn arithmetic(arguments: &Arguments, given: &Limits, setting: &str) -> Result<String, CliError> {
    let bounds = (given.lower(), given.upper());
    let aim = match (given.nominal(), bounds) {
        (Some(aim), _) | (None, (Some(aim), None) | (None, Some(aim))) => aim.text(),
        (None, (Some(lower), Some(upper))) => {
            let middle = (lower.value() + upper.value()) / Rational::from_integer(2.into());
            with_six_decimals(&middle, given.unit())
        }
        (None, (None, None)) => given.text(),
    };
    let length = |text: &Option<String>| -> Result<String, CliError> {
        Ok(quantity(text.as_deref().unwrap_or_default(), Kind::Length)?.text())
    };
    let (wrench, extension) = (length(&arguments.wrench)?, length(&arguments.extension)?);
    let angle = quantity(&arguments.angle, Kind::Angle)?.text();
    let factor = format!("{wrench} / ({wrench} + {extension} × cos {angle})");
    Ok(if arguments.tool.is_some() {
        format!("the wrench gives {aim} at {setting}: {aim} × {factor}")
    } else {
        format!("set the wrench to {setting}: {aim} × {factor}")
    })
}

fn no_setting_error(tool: &TorqueTool, given: &Limits) -> CliError {
    let range = format!("{} to {}", tool.lowest().text(), tool.highest().text());
    let tolerance = tool.tolerance().text();
    let window = tool.judge(given).and_then(|adequacy| adequacy.window);
    let error = CliError::new(format!(
        "no mark of the tool is safe for `{}`",
        given.text()
    ));
    error.help(match window {
        Some(window) => format!("with its tolerance of {tolerance}, only {window} is safe"),
        None => format!("no setting within {range} is safe with a tolerance of {tolerance}"),
    })
}

fn answer_thread(
    arguments: &Arguments,
    thread: &Thread,
) -> Result<(Answer, Vec<String>), CliError> {
    if arguments.tool.is_some() {
        return Err(CliError::new("a tool needs a torque to set")
            .help("give one as in `benchleaf torque '9 N·m' --tool '5 N·m to 25 N·m'`"));
    }
    if arguments.wrench.is_some() {
        return Err(CliError::new("an extension needs a torque to set").help(
            "give one as in `benchleaf torque '9 N·m' --wrench '250 mm' --extension '50 mm'`",
        ));
    }
    if thread.is_pipe() {
        return Err(CliError::new(format!(
            "no torque is calculated for the pipe thread `{thread}`"
        ))
        .help("it is tightened until it seals: use the maker's value"));
    }
    let state = Condition::parse(arguments.state.as_deref().unwrap_or("dry"))?;
    let Some(class) = &arguments.class else {
        let any = PlausibleTorque::of_joint(thread, None, state, None)?;
        let help = format!(
            "give it with --class; a class such as `8.8` is marked on the bolt's head. For any class, {} to \
             {} is plausible",
            any.least().text(),
            any.most().text()
        );
        let message = format!("the torque for `{thread}` depends on its class");
        return Err(CliError::new(message).help(help));
    };
    let class = StrengthClass::parse(class)?;
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
    let also = in_other_units(arguments, &torque.into())?;
    let wrenches = wrenches(thread);
    let mut lines = vec![format!(
        "{thread}, class {class}, {state}: about {} is recommended",
        joint.torque.text()
    )];
    lines.extend(also.iter().map(|text| format!("= {text}")));
    lines.extend(joint.arithmetic.iter().map(|line| format!("  {line}")));
    lines.extend(joint.strips_at.as_ref().map(|strips| {
        format!(
            "the {} strips at about {}",
            strips.material,
            strips.torque.text()
        )
    }));
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
        recommended: joint.torque.text(),
        also,
        ceiling: joint.ceiling.text(),
        strips_at: joint.strips_at.map(|strips| strips.torque.text()),
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

fn in_other_units(arguments: &Arguments, given: &Spec) -> Result<Vec<String>, CliError> {
    let order = UnitOrder::default();
    let units: Vec<Unit> = if arguments.to.is_empty() {
        let usual = order.units(Kind::Torque).iter().copied();
        usual
            .filter(|unit| *unit != given.limits().unit())
            .collect()
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
