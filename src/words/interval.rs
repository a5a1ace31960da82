//! Intervals of service and inspection: parsed from an author's text, printed in any language.

use super::Words;
use super::language::Phrases;
use crate::trade::Period;

/// When something is due: `every 50 h or yearly`, `first after 5 h, then every 50 h`, `before each use`.
///
/// Parsed in the language that a procedure is written in and printed in the language of the page. The phrases of a
/// language are data, see [`Words::read_interval`].
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Interval {
    /// When it is due for the first time, whichever comes first. Empty if that is not said.
    pub(crate) first: Vec<Lapse>,
    /// When it is due again, whichever comes first. Empty if it is due once, after `first`.
    pub(crate) every: Vec<Due>,
}

/// One of the times when something is due.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Due {
    /// At a use of the machine.
    Use(Occasion),
    /// After a number of running hours, or of periods of the calendar.
    Every(Lapse),
    /// Once a year, in a month from 1 to 12.
    Yearly(u8),
    /// When something is found, in the author's words.
    Needed(String),
}

/// Running hours, or time on the calendar. The number is above zero.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Lapse {
    Hours(u32),
    Calendar(Period, u32),
}

/// When in a use of a machine.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Occasion {
    Before,
    During,
    After,
    /// Once on each day on which it is used.
    Day,
}

/// Why a text is not an interval. Each has the part of the text that is to blame.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum UnreadInterval {
    /// The part is in none of the forms.
    Unknown(String),
    /// The number is not from 1 to [`MAX_COUNT`].
    OutOfRange(String),
    /// The part says again what another one says: two numbers of hours, or the same occasion.
    Twice(String),
    /// A month of the year follows something other than once a year.
    MonthWithoutYear(String),
    /// It says when something is due first, and not how often after that.
    OnlyFirst(String),
    /// It says what is due, but not what has to be found.
    NoCondition(String),
}

/// The largest number in an interval.
pub(crate) const MAX_COUNT: u32 = 99_999;

impl Lapse {
    /// Whether both count the same: hours, or the calendar.
    fn is_like(self, other: Lapse) -> bool {
        matches!(self, Lapse::Hours(_)) == matches!(other, Lapse::Hours(_))
    }

    fn is_hours(self) -> bool {
        matches!(self, Lapse::Hours(_))
    }
}

impl Due {
    fn is_like(&self, other: &Due) -> bool {
        match (self, other) {
            (Due::Every(lapse), Due::Every(other)) => lapse.is_like(*other),
            // One of them makes the other superfluous.
            (Due::Every(lapse), Due::Yearly(_)) | (Due::Yearly(_), Due::Every(lapse)) => {
                !lapse.is_hours()
            }
            (Due::Use(occasion), Due::Use(other)) => occasion == other,
            (Due::Yearly(_), Due::Yearly(_)) | (Due::Needed(_), Due::Needed(_)) => true,
            _ => false,
        }
    }

    fn is_hours(&self) -> bool {
        matches!(self, Due::Every(lapse) if lapse.is_hours())
    }
}

impl Interval {
    /// The number of running hours after which it is due again, or for the only time.
    pub(crate) fn hours(&self) -> Option<u32> {
        let again = self.every.iter().filter_map(|due| match due {
            Due::Every(lapse) => Some(*lapse),
            _ => None,
        });
        let mut hours = again.chain(self.first.iter().copied());
        hours.find_map(|lapse| match lapse {
            Lapse::Hours(count) => Some(count),
            Lapse::Calendar(..) => None,
        })
    }

    /// What it says of running hours. `None` if it says nothing of them.
    pub(crate) fn by_hours(&self) -> Option<Interval> {
        self.part(Lapse::is_hours, Due::is_hours)
    }

    /// What it says of anything but running hours. `None` if it says nothing else.
    pub(crate) fn by_others(&self) -> Option<Interval> {
        self.part(|lapse| !lapse.is_hours(), |due| !due.is_hours())
    }

    fn part(
        &self,
        first: impl Fn(Lapse) -> bool,
        every: impl Fn(&Due) -> bool,
    ) -> Option<Interval> {
        let part = Interval {
            first: self
                .first
                .iter()
                .copied()
                .filter(|lapse| first(*lapse))
                .collect(),
            every: self
                .every
                .iter()
                .filter(|due| every(due))
                .cloned()
                .collect(),
        };
        (part != Interval::default()).then_some(part)
    }
}

/// The places of values in phrases.
const COUNT: &str = "{count}";
const INTERVAL: &str = "{interval}";
const MONTH: &str = "{month}";
const CONDITION: &str = "{condition}";

impl Words {
    /// Reads an interval in this language, or else in any other: a text that is an interval in another language is none in
    /// this one, so that nothing can be read in two ways.
    ///
    /// # Errors
    ///
    /// If a part of the text has none of the forms, or contradicts another part.
    pub(crate) fn read_interval(&self, text: &str) -> Result<Interval, UnreadInterval> {
        self.read_own_interval(text).or_else(|error| {
            let mut others = Words::built_in().iter();
            others
                .find_map(|words| words.read_own_interval(text).ok())
                .ok_or(error)
        })
    }

    /// Reads an interval in this language.
    fn read_own_interval(&self, text: &str) -> Result<Interval, UnreadInterval> {
        let phrases = &self.data.intervals;
        let text = spaced(text);
        // A condition may have the words that separate intervals.
        let (text, condition) = split_condition(phrases, &text)?;
        let mut interval = Interval::default();
        let mut is_first = false;
        let mut is_once = false;
        for piece in pieces(phrases, text) {
            let piece = piece.as_str();
            let once = inside(&phrases.once, piece, INTERVAL);
            let first = once.or_else(|| inside(&phrases.first, piece, INTERVAL));
            let then = inside(&phrases.then, piece, INTERVAL);
            is_once |= once.is_some();
            is_first = first.is_some() || is_first && then.is_none();
            let rest = first.or(then).unwrap_or(piece);
            if is_first {
                interval.add_first(read_bare(phrases, rest)?, piece)?;
            } else if let Some(month) = read_month(phrases, rest) {
                interval.set_month(month, piece)?;
            } else {
                interval.add(read_due(phrases, rest)?, piece)?;
            }
        }
        if !interval.first.is_empty() && interval.every.is_empty() && !is_once {
            return Err(UnreadInterval::OnlyFirst(text.trim().to_owned()));
        }
        if let Some(condition) = condition {
            interval.every.push(Due::Needed(condition));
        }
        if interval == Interval::default() {
            return Err(UnreadInterval::Unknown(text.to_owned()));
        }
        Ok(interval)
    }

    /// Prints an interval.
    pub(crate) fn interval(&self, interval: &Interval) -> String {
        let phrases = &self.data.intervals;
        let first: Vec<String> = interval
            .first
            .iter()
            .map(|lapse| self.bare(*lapse))
            .collect();
        let every: Vec<String> = interval.every.iter().map(|due| self.due(due)).collect();
        let (first, every) = (self.choice(&first), self.choice(&every));
        match (first.is_empty(), every.is_empty()) {
            (true, _) => every,
            (false, true) => self.filled(&phrases.once, INTERVAL, &first),
            (false, false) => {
                let first = self.filled(&phrases.first, INTERVAL, &first);
                let then = self.filled(&phrases.then, INTERVAL, &every);
                format!("{first}{}{then}", self.data.lists.separator)
            }
        }
    }

    /// Prints an author's interval in this language. A text that can't be read is returned as it is; check reports it.
    pub(crate) fn translated_interval(&self, text: &str, author: &Words) -> String {
        if self.language() == author.language() && author.read_own_interval(text).is_ok() {
            return text.to_owned();
        }
        let interval = author.read_interval(text);
        interval.map_or_else(|_| text.to_owned(), |interval| self.interval(&interval))
    }

    /// Every form of an interval in this language, with a number in it: what a text that can't be read may be meant to be.
    pub(crate) fn interval_forms(&self, count: u32) -> Vec<String> {
        let phrases = &self.data.intervals;
        let lists = [
            &phrases.hours,
            &phrases.days,
            &phrases.weeks,
            &phrases.months,
            &phrases.years,
            &phrases.day,
            &phrases.week,
            &phrases.month,
            &phrases.year,
            &phrases.before_use,
            &phrases.during_use,
            &phrases.after_use,
            &phrases.day_of_use,
        ];
        let forms = lists.into_iter().flatten();
        // Of "every 50 h" and "50 h", authors should write the first.
        let forms = forms.filter(|form| !form.starts_with(COUNT));
        let forms = forms.map(|form| form.replace(COUNT, &count.to_string()));
        let yearly = phrases.year.first().into_iter().flat_map(|year| {
            let months = phrases.month_names.iter().map(move |month| {
                let month = phrases
                    .in_month
                    .first()
                    .map(|phrase| phrase.replace(MONTH, month));
                format!("{year}, {}", month.unwrap_or_default())
            });
            months.collect::<Vec<_>>()
        });
        forms.chain(yearly).collect()
    }

    /// Help for a text that is no interval: an example of each form.
    pub(crate) fn interval_help(&self) -> String {
        let lapse = |count| Due::Every(Lapse::Hours(count));
        let condition = &self.data.intervals.when_needed;
        let forms = [
            self.due(&lapse(50)),
            self.due(&Due::Every(Lapse::Calendar(Period::Month, 6))),
            self.due(&Due::Yearly(10)),
            self.due(&Due::Use(Occasion::Before)),
            self.filled(condition, CONDITION, "…"),
        ];
        let forms = forms.map(|form| format!("`{form}`"));
        format!(
            "write it in one of the forms {}; `benchleaf explain unreadable-interval` lists them all",
            forms.join(", ")
        )
    }

    /// Help for an interval that says only when something is due first.
    pub(crate) fn only_first_help(&self) -> String {
        let first = vec![Lapse::Hours(5)];
        let every = vec![Due::Every(Lapse::Hours(50))];
        let once = Interval {
            first: first.clone(),
            every: Vec::new(),
        };
        let both = Interval { first, every };
        format!(
            "write `{}`, or `{}` if it is done only then",
            self.interval(&both),
            self.interval(&once)
        )
    }

    /// Prints a number of hours or periods without a word such as "every".
    pub(crate) fn bare(&self, lapse: Lapse) -> String {
        let bare = &self.data.intervals.bare;
        let (count, phrase) = match lapse {
            Lapse::Hours(count) => (count, &bare.hours),
            Lapse::Calendar(Period::Day, 1) => (1, &bare.day),
            Lapse::Calendar(Period::Week, 1) => (1, &bare.week),
            Lapse::Calendar(Period::Month, 1) => (1, &bare.month),
            Lapse::Calendar(Period::Year, 1) => (1, &bare.year),
            Lapse::Calendar(Period::Day, count) => (count, &bare.days),
            Lapse::Calendar(Period::Week, count) => (count, &bare.weeks),
            Lapse::Calendar(Period::Month, count) => (count, &bare.months),
            Lapse::Calendar(Period::Year, count) => (count, &bare.years),
        };
        self.own(&phrase.replace(COUNT, &count.to_string()))
            .into_owned()
    }

    /// Prints one of the times when something is due.
    fn due(&self, due: &Due) -> String {
        let phrases = &self.data.intervals;
        let (list, count) = match due {
            Due::Use(occasion) => (phrases.at(*occasion), 1),
            Due::Every(Lapse::Hours(count)) => (phrases.hours.as_slice(), *count),
            Due::Every(Lapse::Calendar(period, count)) => {
                let (singular, plural) = phrases.of(*period);
                (if *count == 1 { singular } else { plural }, *count)
            }
            Due::Yearly(month) => {
                let name = phrases
                    .month_names
                    .get(usize::from(*month).saturating_sub(1));
                let name = name.map_or("", String::as_str);
                let year = phrases.year.first().map_or("", String::as_str);
                let month = phrases.in_month.first().map_or("", String::as_str);
                let text = format!(
                    "{year}{}{}",
                    self.data.lists.separator,
                    month.replace(MONTH, name)
                );
                return self.own(&text).into_owned();
            }
            Due::Needed(condition) => {
                return self.filled(&phrases.when_needed, CONDITION, condition);
            }
        };
        let phrase = list.first().map_or("", String::as_str);
        self.own(&phrase.replace(COUNT, &count.to_string()))
            .into_owned()
    }

    /// The first phrase with a text in its place that is not of this language, or has its own marks.
    fn filled(&self, phrases: &[String], place: &str, text: &str) -> String {
        let phrase = phrases.first().map_or("", String::as_str);
        let (before, after) = phrase.split_once(place).unwrap_or((phrase, ""));
        let own = |text: &str| match text {
            "" => String::new(),
            text => self.own(text).into_owned(),
        };
        format!("{}{text}{}", own(before), own(after))
    }
}

impl Interval {
    fn add(&mut self, due: Due, piece: &str) -> Result<(), UnreadInterval> {
        if self.every.iter().any(|other| other.is_like(&due)) {
            return Err(UnreadInterval::Twice(piece.to_owned()));
        }
        self.every.push(due);
        Ok(())
    }

    fn add_first(&mut self, lapse: Lapse, piece: &str) -> Result<(), UnreadInterval> {
        if self.first.iter().any(|other| other.is_like(lapse)) {
            return Err(UnreadInterval::Twice(piece.to_owned()));
        }
        self.first.push(lapse);
        Ok(())
    }

    /// Restricts what is due once a year to a month.
    fn set_month(&mut self, month: u8, piece: &str) -> Result<(), UnreadInterval> {
        match self.every.last_mut() {
            Some(due @ Due::Every(Lapse::Calendar(Period::Year, 1))) => {
                *due = Due::Yearly(month);
                Ok(())
            }
            _ => Err(UnreadInterval::MonthWithoutYear(piece.to_owned())),
        }
    }
}

impl Phrases {
    /// The phrases for one period and for several.
    fn of(&self, period: Period) -> (&[String], &[String]) {
        match period {
            Period::Day => (&self.day, &self.days),
            Period::Week => (&self.week, &self.weeks),
            Period::Month => (&self.month, &self.months),
            Period::Year => (&self.year, &self.years),
        }
    }

    fn at(&self, occasion: Occasion) -> &[String] {
        match occasion {
            Occasion::Before => &self.before_use,
            Occasion::During => &self.during_use,
            Occasion::After => &self.after_use,
            Occasion::Day => &self.day_of_use,
        }
    }
}

/// A text with one space between its words.
fn spaced(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The text before the words for a condition, and the condition.
fn split_condition<'t>(
    phrases: &Phrases,
    text: &'t str,
) -> Result<(&'t str, Option<String>), UnreadInterval> {
    for phrase in &phrases.when_needed {
        let words = phrase.replace(CONDITION, "");
        let words = words.trim();
        let Some(at) = find_folded(text, words) else {
            continue;
        };
        let condition = text[at + words.len()..].trim();
        if condition.is_empty() {
            return Err(UnreadInterval::NoCondition(text[at..].to_owned()));
        }
        return Ok((&text[..at], Some(condition.to_owned())));
    }
    Ok((text, None))
}

/// Where `words` is in a text, whatever the case of its letters. The words of a language are as long in either case.
fn find_folded(text: &str, words: &str) -> Option<usize> {
    let mut starts = text.char_indices().map(|(at, _)| at);
    starts.find(|at| {
        let is_word = !text[..*at].ends_with(char::is_alphanumeric);
        let found = text.get(*at..at + words.len());
        is_word && found.is_some_and(|found| is_same(found, words))
    })
}

/// Whether two texts are the same, whatever the case of their letters.
fn is_same(text: &str, other: &str) -> bool {
    text.len() == other.len() && text.to_lowercase() == other.to_lowercase()
}

/// The pieces of a text between separators.
fn pieces(phrases: &Phrases, text: &str) -> Vec<String> {
    let mut pieces = vec![text.to_owned()];
    for separator in &phrases.separators {
        let split = pieces
            .iter()
            .flat_map(|piece| piece.split(separator.as_str()));
        pieces = split.map(str::to_owned).collect();
    }
    // "yearly in October" and "first after 5 h then every 50 h" have no separator.
    let is_month = |rest: &str| read_month(phrases, rest).is_some();
    for (list, place, is_wanted) in [
        (
            &phrases.then,
            INTERVAL,
            (&|_: &str| true) as &dyn Fn(&str) -> bool,
        ),
        (&phrases.in_month, MONTH, &is_month),
    ] {
        let split = pieces.iter().flat_map(|piece| {
            let piece = piece.trim();
            let words = list.iter().map(|phrase| phrase.replace(place, ""));
            let mut places = words.filter_map(|words| find_folded(piece, &words));
            match places.find(|at| *at > 0 && is_wanted(&piece[*at..])) {
                Some(at) => vec![piece[..at].trim().to_owned(), piece[at..].to_owned()],
                None => vec![piece.to_owned()],
            }
        });
        pieces = split.collect();
    }
    let is_separator = |piece: &String| phrases.separators.iter().any(|text| text.trim() == piece);
    pieces.retain(|piece| !piece.is_empty() && !is_separator(piece));
    pieces
}

/// What is in the place of a phrase that a text has the form of.
fn inside<'t>(phrases: &[String], text: &'t str, place: &str) -> Option<&'t str> {
    phrases.iter().find_map(|phrase| {
        let (before, after) = phrase.split_once(place)?;
        let start = text.get(..before.len())?;
        let rest = text.get(before.len()..)?;
        let end = rest.len().checked_sub(after.len())?;
        let is_form =
            is_same(start, before) && rest.get(end..).is_some_and(|end| is_same(end, after));
        is_form.then(|| rest.get(..end)).flatten()
    })
}

/// Reads "in October".
fn read_month(phrases: &Phrases, text: &str) -> Option<u8> {
    let name = inside(&phrases.in_month, text, MONTH)?;
    let mut names = phrases.month_names.iter();
    let index = names.position(|month| is_same(month, name))?;
    u8::try_from(index + 1).ok()
}

/// Reads "every 50 h", "yearly" or "before each use".
fn read_due(phrases: &Phrases, text: &str) -> Result<Due, UnreadInterval> {
    for occasion in [
        Occasion::Before,
        Occasion::During,
        Occasion::After,
        Occasion::Day,
    ] {
        if phrases
            .at(occasion)
            .iter()
            .any(|phrase| is_same(phrase, text))
        {
            return Ok(Due::Use(occasion));
        }
    }
    for period in [Period::Day, Period::Week, Period::Month, Period::Year] {
        let (singular, plural) = phrases.of(period);
        if singular.iter().any(|phrase| is_same(phrase, text)) {
            return Ok(Due::Every(Lapse::Calendar(period, 1)));
        }
        if let Some(count) = count_in(plural, text)? {
            return Ok(Due::Every(Lapse::Calendar(period, count)));
        }
    }
    match count_in(&phrases.hours, text)? {
        Some(count) => Ok(Due::Every(Lapse::Hours(count))),
        None => Err(UnreadInterval::Unknown(text.to_owned())),
    }
}

/// Reads "5 h" or "1 month".
fn read_bare(phrases: &Phrases, text: &str) -> Result<Lapse, UnreadInterval> {
    let bare = &phrases.bare;
    for (period, singular) in [
        (Period::Day, &bare.day),
        (Period::Week, &bare.week),
        (Period::Month, &bare.month),
        (Period::Year, &bare.year),
    ] {
        if is_same(singular, text) {
            return Ok(Lapse::Calendar(period, 1));
        }
    }
    match read_due(phrases, text)? {
        Due::Every(lapse) => Ok(lapse),
        _ => Err(UnreadInterval::Unknown(text.to_owned())),
    }
}

/// The number in a text that matches one of the phrases.
fn count_in(phrases: &[String], text: &str) -> Result<Option<u32>, UnreadInterval> {
    let Some(count) = inside(phrases, text, COUNT) else {
        return Ok(None);
    };
    if count.is_empty() || !count.bytes().all(|letter| letter.is_ascii_digit()) {
        return Ok(None);
    }
    match count.parse() {
        Ok(count @ 1..=MAX_COUNT) => Ok(Some(count)),
        _ => Err(UnreadInterval::OutOfRange(text.to_owned())),
    }
}

#[cfg(test)]
mod tests;
