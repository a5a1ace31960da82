//! `benchleaf speed`

use super::bench::{AnswerArguments, limits, quantity};
use super::exit::{CliError, ExitStatus};
use crate::quantity::{Kind, Quantity, Rational, Verdict};
use crate::trade::{
    DroopOf, driven_speed, frequency, indicated_speed, no_load_for, synchronous_speed, tip_speed,
};
use clap::Args;
use serde::Serialize;

/// Calculate speeds of generators, tachometers, belts and blades, or compare a speed with limits
///
/// Each option adds one calculation. With `--poles`, the speed can be given as a generator's
/// frequency.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  benchleaf speed '3250 rpm' --limits '3150 rpm ± 150 rpm'
  benchleaf speed '50 Hz' --poles 2 --droop '4 %'
  benchleaf speed '3100 rpm' --sparks 1 --set 0.5        reading of a wrongly set tachometer
  benchleaf speed '3000 rpm' --driver '60 mm' --driven '180 mm'
  benchleaf speed '2900 rpm' --diameter '460 mm'         the speed of a blade's tip")]
pub(super) struct Arguments {
    /// A speed, such as `3100 rpm`; with --poles also a frequency, such as `50 Hz`
    #[arg(value_name = "SPEED")]
    speed: String,

    /// Limits to compare the speed with
    #[arg(long, value_name = "LIMITS")]
    limits: Option<String>,

    /// The generator's number of poles
    #[arg(long, value_name = "NUMBER")]
    poles: Option<u32>,

    /// How much the generator's speed falls from no load to full load, in per cent of the speed that
    /// `--droop-of` says
    #[arg(long, value_name = "PERCENT", requires = "poles")]
    droop: Option<String>,

    /// What the droop is a percentage of: `full-load`, as in ISO 8528-5, or `no-load`
    #[arg(
        long,
        value_name = "SPEED",
        requires = "droop",
        default_value = "full-load",
        value_parser = ["full-load", "no-load"]
    )]
    droop_of: String,

    /// Sparks per turn of the crankshaft
    #[arg(long, value_name = "NUMBER", requires = "set")]
    sparks: Option<String>,

    /// Sparks per turn that the tachometer is set to
    #[arg(long, value_name = "NUMBER", requires = "sparks")]
    set: Option<String>,

    /// Diameter of the driving pulley, on the engine
    #[arg(long, value_name = "LENGTH", requires = "driven")]
    driver: Option<String>,

    /// Diameter of the driven pulley
    #[arg(long, value_name = "LENGTH", requires = "driver")]
    driven: Option<String>,

    /// Diameter of the blade, which turns with the driven pulley if there is a belt
    #[arg(long, value_name = "LENGTH")]
    diameter: Option<String>,

    #[command(flatten)]
    answer: AnswerArguments,
}

#[derive(Default, Serialize)]
struct Answer {
    given: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    verdict: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    margin: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    frequency: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    synchronous: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    no_load: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    droop_of: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    shown: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    driven: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    tip: Option<String>,
}

pub(super) fn run(arguments: &Arguments) -> Result<ExitStatus, CliError> {
    let given = Quantity::parse(&arguments.speed);
    let is_frequency = given
        .as_ref()
        .is_ok_and(|given| given.kind() == Kind::Frequency);
    let mut answer = Answer::default();
    let mut lines = Vec::new();
    let speed = if is_frequency {
        speed_of_frequency(arguments, &mut answer, &mut lines)?
    } else {
        quantity(&arguments.speed, Kind::RotationalSpeed)?
    };
    if answer.given.is_empty() {
        answer.given = speed.text();
    }
    if let Some(text) = &arguments.limits {
        compare_with_limits(text, &speed, &mut answer, &mut lines)?;
    }
    if !is_frequency && arguments.droop.is_some() {
        return Err(
            CliError::new("`--droop` needs a frequency instead of a speed")
                .help("use it as in `benchleaf speed '50 Hz' --poles 2 --droop '4 %'`"),
        );
    }
    if let Some(poles) = arguments.poles.filter(|_| !is_frequency) {
        let hertz = frequency(&speed, poles)?;
        lines.push(format!(
            "{poles} poles at {} give {}",
            speed.text(),
            hertz.text()
        ));
        answer.frequency = Some(hertz.text());
    }
    if let (Some(sparks), Some(set)) = (&arguments.sparks, &arguments.set) {
        let shown = indicated_speed(&speed, &number(sparks)?, &number(set)?)?;
        lines.push(format!(
            "at {}, a tachometer set to {set} shows {} (sparks per turn: {sparks})",
            speed.text(),
            shown.text()
        ));
        answer.shown = Some(shown.text());
    }
    let mut turned = speed.clone();
    if let (Some(driver), Some(driven)) = (&arguments.driver, &arguments.driven) {
        let (near, far) = (
            quantity(driver, Kind::Length)?,
            quantity(driven, Kind::Length)?,
        );
        turned = driven_speed(&speed, &near, &far)?;
        lines.push(format!(
            "a {} pulley at {} turns a {} pulley at {}",
            near.text(),
            speed.text(),
            far.text(),
            turned.text()
        ));
        answer.driven = Some(turned.text());
    }
    if let Some(diameter) = &arguments.diameter {
        let diameter = quantity(diameter, Kind::Length)?;
        let tip = tip_speed(&diameter, &turned)?;
        lines.push(format!(
            "a {} blade at {} has a tip speed of {}",
            diameter.text(),
            turned.text(),
            tip.text()
        ));
        answer.tip = Some(tip.text());
    }
    if lines.is_empty() {
        return Err(CliError::new("expected a question about the speed")
            .help("such as `--limits '3150 rpm ± 150 rpm'` or `--poles 2`; `benchleaf speed --help` lists them"));
    }
    arguments.answer.print(&answer, &lines);
    Ok(ExitStatus::Success)
}

/// The speed at which a generator produces the given frequency.
fn speed_of_frequency(
    arguments: &Arguments,
    answer: &mut Answer,
    lines: &mut Vec<String>,
) -> Result<Quantity, CliError> {
    let hertz = quantity(&arguments.speed, Kind::Frequency)?;
    let Some(poles) = arguments.poles else {
        return Err(
            CliError::new("a frequency gives a speed only with the generator's poles")
                .help("add `--poles 2`"),
        );
    };
    let speed = synchronous_speed(&hertz, poles)?;
    lines.push(format!(
        "{poles} poles give {} at {}",
        hertz.text(),
        speed.text()
    ));
    answer.given = hertz.text();
    answer.synchronous = Some(speed.text());
    if let Some(droop) = &arguments.droop {
        let droop = quantity(droop, Kind::Percent)?;
        let of = DroopOf::ALL
            .into_iter()
            .find(|of| of.name() == arguments.droop_of)
            .unwrap_or_default();
        let no_load = no_load_for(&speed, &droop, of)?;
        lines.push(format!(
            "with a droop of {} {}, set {} without load",
            droop.text(),
            of.text(),
            no_load.text()
        ));
        answer.droop_of = Some(of.name());
        answer.no_load = Some(no_load.text());
    }
    Ok(speed)
}

fn compare_with_limits(
    text: &str,
    speed: &Quantity,
    answer: &mut Answer,
    lines: &mut Vec<String>,
) -> Result<(), CliError> {
    let limits = limits(text)?;
    let Some(verdict) = limits.judge(speed) else {
        return Err(CliError::new(format!(
            "expected limits of a speed such as `3150 rpm ± 150 rpm`, found `{text}`"
        )));
    };
    let (word, margin) = match verdict {
        Verdict::Below(margin) => ("under", margin),
        Verdict::Within(margin) => ("within", margin),
        Verdict::Above(margin) => ("over", margin),
    };
    let line = match word {
        "within" => format!(
            "{} is within {}, {} from the nearer limit",
            speed.text(),
            limits.text(),
            margin.text()
        ),
        word => format!(
            "{} is {word} {} by {}",
            speed.text(),
            limits.text(),
            margin.text()
        ),
    };
    lines.push(line);
    answer.verdict = Some(word);
    answer.margin = Some(margin.text());
    Ok(())
}

/// Parses a number above zero without a unit.
fn number(text: &str) -> Result<Rational, CliError> {
    let as_ratio = Quantity::parse(&format!("{text}:1")).ok();
    let number = as_ratio.map(|ratio| ratio.value().clone());
    number
        .filter(|number| *number > Rational::from_integer(0.into()))
        .ok_or_else(|| CliError::new(format!("expected a number above zero, found `{text}`")))
}
