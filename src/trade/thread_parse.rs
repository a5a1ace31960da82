//! Parses thread designations.

use super::error::{Error, quoted};
use super::thread::{Form, Thread, thousandths};
use super::thread_pipe::{read_pipe, unmarked};
use super::thread_table::{
    COARSEST, LARGEST_METRIC, METRIC, MOST_PER_INCH, MetricRow, PITCHES, Size, TEN_THOUSAND,
    UNIFIED,
};

impl Thread {
    /// Parses a designation.
    ///
    /// # Errors
    ///
    /// If the text is not a designation; if a metric thread without a pitch has no coarse pitch, or
    /// its pitch is not one of ISO 261 or is coarser than a quarter of the diameter; if a unified
    /// thread is neither UNC nor UNF and is not marked `UN`, `UNS` or `UNEF`; if a pipe thread has no
    /// standard size. The help never has another size or pitch as the right one: it has the same thread in
    /// another spelling, or all that exist.
    pub fn parse(text: &str) -> Result<Self, Error> {
        let upper = text.trim().to_uppercase();
        let (rest, left_hand) = match upper.strip_suffix("LH") {
            Some(rest) => (rest.trim_end_matches([' ', '-']), true),
            None => (upper.as_str(), false),
        };
        let form = match (read_pipe(rest, text), rest.strip_prefix('M')) {
            (Some(pipe), _) => {
                let (size, mark) = pipe?;
                Form::Pipe { size, mark }
            }
            (None, Some(rest)) => read_metric(rest, text)?,
            (None, None) => read_unified(rest, text)?,
        };
        Ok(Self::new(form, left_hand))
    }
}

/// Parses a decimal number of millimetres as micrometres: `1.25` is 1250.
fn micrometres(text: &str) -> Option<u32> {
    let (digits, decimals) = text.split_once('.').unwrap_or((text, ""));
    let plain = |part: &str| part.bytes().all(|byte| byte.is_ascii_digit());
    if digits.is_empty() || digits.len() > 3 || decimals.len() > 3 {
        return None;
    }
    if !plain(digits) || !plain(decimals) || text.ends_with('.') {
        return None;
    }
    format!("{digits}{decimals:0<3}").parse().ok()
}

/// Parses what follows the `M`, in upper case; `text` is the whole as typed.
fn read_metric(rest: &str, text: &str) -> Result<Form, Error> {
    let compact: String = rest.chars().filter(|c| !c.is_whitespace()).collect();
    if compact.contains(',') {
        return Err(respelled(Error::new("a decimal point", quoted(text)), text));
    }
    let mut parts = compact.splitn(2, ['X', '×', '*', '-']).map(micrometres);
    let (diameter, pitch) = (parts.next().flatten(), parts.next());
    let Some(diameter) = diameter.filter(|diameter| (1_000..=LARGEST_METRIC).contains(diameter))
    else {
        return Err(unknown(text));
    };
    let row = METRIC.iter().find(|row| row.diameter == diameter);
    let pitch = match (pitch, row) {
        (None, Some(row)) => row.coarse,
        (None, None) => return Err(no_coarse_pitch(diameter, text)),
        (Some(None), _) => return Err(unknown(text)),
        (Some(Some(pitch)), _) if !PITCHES.contains(&pitch) => {
            let error = Error::new("a pitch of ISO 261", quoted(text));
            return Err(with_pitches(error, row));
        }
        (Some(Some(pitch)), _) if pitch * COARSEST > diameter => {
            let error = Error::new("a pitch of at most a quarter of the diameter", quoted(text));
            return Err(with_pitches(error, row));
        }
        (Some(Some(pitch)), _) => pitch,
    };
    Ok(Form::Metric { diameter, pitch })
}

fn no_coarse_pitch(diameter: u32, text: &str) -> Error {
    let name = |row: &MetricRow| format!("`M{}`", thousandths(row.diameter));
    let below = METRIC.iter().rfind(|row| row.diameter < diameter);
    let above = METRIC.iter().find(|row| row.diameter > diameter);
    // A single neighbour would look like the correction.
    let near = match (below, above) {
        (Some(below), Some(above)) => format!("{} and {} have one", name(below), name(above)),
        (Some(largest), None) => format!("the largest that has one is {}", name(largest)),
        (None, Some(smallest)) => format!("the smallest that has one is {}", name(smallest)),
        (None, None) => return Error::new("a metric thread", quoted(text)),
    };
    Error::new("a diameter with a coarse pitch of ISO 262", quoted(text)).with_help(format!(
        "{near}; write any other with its pitch, as in `M{}x1`",
        thousandths(diameter),
    ))
}

/// Adds help that names the standard pitches of the diameter.
fn with_pitches(error: Error, row: Option<&MetricRow>) -> Error {
    let Some(row) = row else {
        return error;
    };
    let pitches: Vec<String> = std::iter::once(&row.coarse)
        .chain(row.fine)
        .map(|pitch| thousandths(*pitch))
        .collect();
    error.with_help(format!(
        "`M{}` is made with a pitch of {} mm",
        thousandths(row.diameter),
        pitches.join(" or "),
    ))
}

/// Parses a unified thread in upper case; `text` is the whole as typed.
fn read_unified(rest: &str, text: &str) -> Result<Form, Error> {
    // The tolerance class of `UNC-2A` affects neither size nor strength.
    let rest = ["-1A", "-1B", "-2A", "-2B", "-3A", "-3B"]
        .iter()
        .find_map(|class| rest.strip_suffix(class))
        .unwrap_or(rest);
    let letters = rest.trim_end_matches(|c: char| c.is_ascii_alphabetic());
    let series = &rest[letters.len()..];
    if !["", "UNC", "UNF", "UN", "UNS", "UNEF"].contains(&series) {
        return Err(unknown(text));
    }
    let body = letters.trim_end_matches([' ', '-']);
    let threads = |text: &str| {
        let text = text.trim();
        let plain = text.bytes().all(|byte| byte.is_ascii_digit());
        text.parse::<u32>().ok().filter(|_| plain)
    };
    let (size, per_inch) = match body.rsplit_once('-') {
        Some((size, per_inch)) if threads(per_inch).is_some() => (size, threads(per_inch)),
        _ => (body, None),
    };
    let sizes = sizes(size);
    // Where #1 and one inch are both possible, the inch is more common in a shop.
    let Some(likeliest) = sizes.last() else {
        return Err(unknown(text));
    };
    let found = sizes.iter().rev().find_map(|size| {
        let (coarse, fine) = (size.coarse, Some(size.fine));
        let per_inch = match (series, per_inch) {
            ("UNC", None) => coarse,
            ("UNF", None) => fine,
            ("UNC", typed) => coarse.filter(|coarse| typed == Some(*coarse)),
            ("UNF", typed) => fine.filter(|fine| typed == Some(*fine)),
            (_, Some(typed)) => [coarse, fine]
                .into_iter()
                .flatten()
                .find(|known| *known == typed),
            (_, None) => None,
        };
        per_inch.map(|per_inch| Form::Unified {
            size,
            per_inch,
            mark: "",
        })
    });
    if let Some(form) = found {
        return Ok(form);
    }
    let mark = ["UN", "UNS", "UNEF"]
        .into_iter()
        .find(|mark| *mark == series);
    // Checked first, because the product would overflow for a large number.
    let possible = per_inch.filter(|per_inch| {
        *per_inch <= MOST_PER_INCH && likeliest.diameter * per_inch >= TEN_THOUSAND * COARSEST
    });
    match (mark, possible) {
        (Some(mark), Some(per_inch)) => Ok(Form::Unified {
            size: likeliest,
            per_inch,
            mark,
        }),
        _ => Err(no_such_unified(&sizes, text)),
    }
}

/// The rows that a typed size can mean: `10` is #10, `1` is #1 or one inch.
fn sizes(typed: &str) -> Vec<&'static Size> {
    let typed = typed
        .trim()
        .trim_end_matches("IN")
        .trim_end_matches(['"', '″', ' ']);
    let number = typed
        .strip_prefix("NO.")
        .or_else(|| typed.strip_prefix("NO"))
        .or_else(|| typed.strip_prefix('#'))
        .map(str::trim_start);
    let plain = typed.split_whitespace().collect::<Vec<_>>().join("-");
    let means = |size: &&Size| match (size.name.strip_prefix('#'), number) {
        (Some(known), Some(number)) => known == number,
        (Some(known), None) => known == plain,
        (None, Some(_)) => false,
        (None, None) => size.name == plain,
    };
    UNIFIED.iter().filter(means).collect()
}

fn no_such_unified(sizes: &[&Size], text: &str) -> Error {
    let known: Vec<String> = sizes
        .iter()
        .flat_map(|size| {
            let coarse = size
                .coarse
                .map(|per_inch| format!("`{}-{per_inch} UNC`", size.name));
            let fine = format!("`{}-{} UNF`", size.name, size.fine);
            coarse.into_iter().chain([fine])
        })
        .collect();
    let verb = if known.len() == 1 {
        "is the standard one"
    } else {
        "are the standard ones"
    };
    let pipe = unmarked(text.trim()).map(|pipe| format!("; {pipe}"));
    Error::new("a thread of the UNC or UNF series", quoted(text)).with_help(format!(
        "{} {verb}{}",
        known.join(" and "),
        pipe.unwrap_or_default()
    ))
}

/// The error for text that is not a thread.
fn unknown(text: &str) -> Error {
    let error = Error::new(
        "a thread such as `M6`, `M10x1.25`, `1/4-20 UNC` or `1/8-27 NPT`",
        quoted(text),
    );
    match unmarked(text.trim()) {
        Some(pipe) => error.with_help(pipe),
        None => respelled(error, text),
    }
}

/// Adds the thread as help if the text is one with other punctuation.
fn respelled(error: Error, text: &str) -> Error {
    let plain: String = text
        .trim()
        .chars()
        .map(|c| match c {
            ',' => '.',
            '_' | '\u{2010}'..='\u{2015}' | '\u{2212}' => '-',
            _ => c,
        })
        .collect();
    let plain = plain.strip_suffix("mm").unwrap_or(&plain);
    if plain == text.trim() {
        return error;
    }
    match Thread::parse(plain) {
        Ok(thread) => error.with_help(format!("write `{thread}`")),
        Err(_) => error,
    }
}
