//! Reads limits of readings that are calculated.

use super::super::fields::{calculated, reading};
use super::super::{Calculated, Reading, rules};
use super::fields::{choice, ill_formed};
use crate::finding::{Finding, Findings, Located, Span, nearest};
use crate::quantity::{Limits, Spec};
use crate::record::Record;
use crate::trade::{self, Answer, Bound, Calculation, Entered, InputError, Need};

/// What the table of a calculation gives.
pub(super) struct ReadCalculated {
    pub(super) span: Span,
    /// `None` if the limits can't be calculated, which is reported.
    pub(super) limits: Option<(Located<Spec>, Calculated)>,
}

/// Reads the calculation of a reading's limits. `None` if the reading has none.
pub(super) fn read_calculated(
    reading: &Record<'_, Reading>,
    findings: &mut Findings,
) -> Option<ReadCalculated> {
    let mut read = None;
    reading.record(reading::CALCULATED, findings, |record, findings| {
        read = Some(ReadCalculated {
            span: record.span(),
            limits: limits(record, findings),
        });
    });
    read
}

fn limits(
    record: &Record<'_, Calculated>,
    findings: &mut Findings,
) -> Option<(Located<Spec>, Calculated)> {
    let named = choice(record, calculated::CALCULATION, findings);
    let typed = record.pairs(calculated::INPUTS, findings);
    let result = choice(record, calculated::RESULT, findings);
    let bound = choice(record, calculated::BOUND, findings);
    let named = named?;
    let calculation = named.value;
    let inputs = inputs(record, calculation, &typed, findings)?;
    let answer = calculation.answer(&inputs);
    let answer = answer
        .inspect_err(|error| findings.push(impossible(named.span, error)))
        .ok()?;
    let name = match &result {
        Some(result) => result.with(result.value.0),
        None => named.with(calculation.results.first()?.name),
    };
    let bounds = bound.map(|bound| bound.value);
    let limits = limits_of(calculation, &answer, &name, bounds, findings)?;
    let calculated = Calculated {
        calculation,
        inputs: answer.inputs,
    };
    Some((named.with(Spec::from(limits)), calculated))
}

/// The inputs, if each is one of the calculation and none is missing.
fn inputs(
    record: &Record<'_, Calculated>,
    calculation: &'static Calculation,
    typed: &[(Located<String>, Located<String>)],
    findings: &mut Findings,
) -> Option<Vec<Entered>> {
    let mut entered = Vec::new();
    let mut is_complete = true;
    for (name, text) in typed {
        let Some(input) = calculation.input(&name.value) else {
            findings.push(unknown_input(calculation, name));
            is_complete = false;
            continue;
        };
        match input.parse(&text.value, record.gallons()) {
            Ok(input) => entered.push(input),
            Err(error) => {
                findings.push(unreadable(text, &error));
                is_complete = false;
            }
        }
    }
    if !is_complete {
        return None;
    }
    let is_given = |name: &str| typed.iter().any(|(typed, _)| typed.value == name);
    let mut missing = calculation.inputs.iter();
    let missing = missing.find(|input| input.need == Need::Required && !is_given(input.name));
    if let Some(input) = missing {
        let message = format!("`{}` needs the input `{}`", calculation.name, input.name);
        findings.push(
            Finding::new(&rules::LIMITS_NOT_CALCULATED, message)
                .primary(record.span(), "")
                .help(format!(
                    "add `{} = …` to its `inputs`: it is {}",
                    input.name, input.about
                )),
        );
        return None;
    }
    Some(entered)
}

fn unknown_input(calculation: &'static Calculation, name: &Located<String>) -> Finding {
    let known = calculation.inputs.iter().map(|input| input.name);
    let near = nearest(&name.value, known.clone());
    let message = format!("`{}` has no input `{}`", calculation.name, name.value);
    let listed: Vec<String> = known.map(|name| format!("`{name}`")).collect();
    Finding::new(&rules::LIMITS_NOT_CALCULATED, message)
        .primary(name.span, "")
        .suggest(near, format!("its inputs are {}", listed.join(", ")))
        .corrected(&name.value, near)
}

fn unreadable(text: &Located<String>, error: &InputError) -> Finding {
    match error {
        InputError::Text(error) => ill_formed(text, error),
        error => Finding::new(&rules::ILL_FORMED_VALUE, error.to_string())
            .primary(text.span, "")
            .help(error.help().unwrap_or_else(|| {
                format!(
                    "`benchleaf explain {}` lists what is possible",
                    rules::LIMITS_NOT_CALCULATED.name
                )
            })),
    }
}

/// The limits that a result of the answer gives.
fn limits_of(
    calculation: &'static Calculation,
    answer: &Answer,
    name: &Located<&'static str>,
    bound: Option<Bound>,
    findings: &mut Findings,
) -> Option<Limits> {
    let found = answer
        .results
        .iter()
        .find(|result| result.outcome.name == name.value);
    let Some(found) = found else {
        let known = calculation.result(name.value).is_some();
        let message = if known {
            format!("these inputs give no `{}`", name.value)
        } else {
            format!("`{}` has no result `{}`", calculation.name, name.value)
        };
        let results: Vec<String> = answer
            .results
            .iter()
            .map(|result| format!("`{}`", result.outcome.name))
            .collect();
        findings.push(
            Finding::new(&rules::LIMITS_NOT_CALCULATED, message)
                .primary(name.span, "")
                .help(format!("its results are {}", results.join(", "))),
        );
        return None;
    };
    let limits = found.limits(bound.unwrap_or(found.outcome.bound));
    limits
        .inspect_err(|error| findings.push(impossible(name.span, error)))
        .ok()
}

/// The finding for values that give no result.
fn impossible(span: Span, error: &trade::Error) -> Finding {
    let help = error.help().unwrap_or("correct the inputs");
    Finding::new(&rules::LIMITS_NOT_CALCULATED, error.to_string())
        .primary(span, "")
        .help(help)
}
