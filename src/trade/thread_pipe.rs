//! Pipe threads: their sizes and their designations.

use super::error::{Error, quoted};

/// A size of pipe thread.
#[derive(Debug, PartialEq, Eq, Hash)]
pub(super) struct PipeSize {
    pub(super) name: &'static str,
    /// In ten-thousandths of an inch.
    pub(super) diameter: u32,
    /// Twice the threads per inch, because NPT has 11.5.
    pub(super) half_threads: u32,
    /// Whether ISO 7-1 has it. Always true for NPT.
    is_tapered: bool,
}

const fn size(name: &'static str, diameter: u32, half_threads: u32, is_tapered: bool) -> PipeSize {
    PipeSize {
        name,
        diameter,
        half_threads,
        is_tapered,
    }
}

/// ASME B1.20.1: size, outside diameter of the pipe, twice the threads per inch.
///
/// Sources: published tables, each with both figures: "US Standard Taper Pipe Thread NPT" (toolsnz),
/// "Standard Pipe Thread Fittings" (masterflex), pitches again in "Pipe Threads" (unifiedalloys).
const NPT: &[PipeSize] = &[
    size("1/16", 3_125, 54, true),
    size("1/8", 4_050, 54, true),
    size("1/4", 5_400, 36, true),
    size("3/8", 6_750, 36, true),
    size("1/2", 8_400, 28, true),
    size("3/4", 10_500, 28, true),
    size("1", 13_150, 23, true),
    size("1-1/4", 16_600, 23, true),
    size("1-1/2", 19_000, 23, true),
    size("2", 23_750, 23, true),
];

/// ISO 228-1 and ISO 7-1, which have the same sizes and pitches: size, major diameter, twice the
/// threads per inch.
///
/// Sources: published tables, "British Standard Pipe (BSP) Thread Chart" (threadchart) and "Pipework -
/// BSP threads" (dcldesign). 1/16, 1-1/8 and 1-3/4 are in the second alone, the diameter of 1-3/4 from
/// memory. That ISO 7-1 lacks 5/8, 7/8, 1-1/8 and 1-3/4 was read of the taps of 5/8, 7/8 and 1-3/4
/// (0685.com); 1-1/8 is from memory.
const BSP: &[PipeSize] = &[
    size("1/16", 3_041, 56, true),
    size("1/8", 3_830, 56, true),
    size("1/4", 5_180, 38, true),
    size("3/8", 6_560, 38, true),
    size("1/2", 8_250, 28, true),
    size("5/8", 9_020, 28, false),
    size("3/4", 10_410, 28, true),
    size("7/8", 11_890, 28, false),
    size("1", 13_090, 22, true),
    size("1-1/8", 14_920, 22, false),
    size("1-1/4", 16_500, 22, true),
    size("1-1/2", 18_820, 22, true),
    size("1-3/4", 21_160, 22, false),
    size("2", 23_470, 22, true),
];

/// The series of a pipe thread, as marked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) enum PipeMark {
    /// Tapered, ASME B1.20.1.
    Npt,
    /// As NPT, sealing without compound.
    Nptf,
    /// Parallel, ISO 228-1.
    G,
    /// External tapered, ISO 7-1.
    R,
    /// Internal tapered.
    Rc,
    /// Internal parallel.
    Rp,
    /// Tapered, external or internal.
    Bspt,
    /// Parallel or tapered: the designation doesn't say.
    Bsp,
}

impl PipeMark {
    /// In upper case, a longer one before its own beginning.
    const ALL: [(&'static str, Self); 9] = [
        ("NPTF", Self::Nptf),
        ("NPT", Self::Npt),
        ("BSPP", Self::G),
        ("BSPT", Self::Bspt),
        ("BSP", Self::Bsp),
        ("RC", Self::Rc),
        ("RP", Self::Rp),
        ("R", Self::R),
        ("G", Self::G),
    ];

    fn sizes(self) -> Vec<&'static PipeSize> {
        let (table, tapered) = match self {
            Self::Npt | Self::Nptf => (NPT, true),
            Self::G | Self::Bsp => (BSP, false),
            Self::R | Self::Rc | Self::Rp | Self::Bspt => (BSP, true),
        };
        let sizes = table.iter();
        sizes.filter(|size| size.is_tapered || !tapered).collect()
    }

    /// The designation in the form of the standard.
    pub(super) fn write(self, size: &PipeSize) -> String {
        let name = size.name;
        match self {
            Self::Npt => format!("{name}-{} NPT", threads(size)),
            Self::Nptf => format!("{name}-{} NPTF", threads(size)),
            Self::G => format!("G{name}"),
            Self::R => format!("R{name}"),
            Self::Rc => format!("Rc{name}"),
            Self::Rp => format!("Rp{name}"),
            Self::Bspt => format!("{name} BSPT"),
            Self::Bsp => format!("{name} BSP"),
        }
    }
}

/// The threads per inch: `27`, `11.5`.
fn threads(size: &PipeSize) -> String {
    let half = if size.half_threads % 2 == 1 { ".5" } else { "" };
    format!("{}{half}", size.half_threads / 2)
}

/// Parses a pipe thread in upper case; `text` is the whole as typed. `None` if it has no mark of a pipe
/// thread.
pub(super) fn read_pipe(
    upper: &str,
    text: &str,
) -> Option<Result<(&'static PipeSize, PipeMark), Error>> {
    let is_size = |rest: &str| rest.trim_start_matches([' ', '-']).starts_with(is_digit);
    let (mark, rest) = PipeMark::ALL.into_iter().find_map(|(word, mark)| {
        let before = upper.strip_prefix(word).filter(|rest| is_size(rest));
        let after = upper
            .strip_suffix(word)
            .filter(|rest| word.len() > 1 && rest.starts_with(is_digit));
        Some((mark, before.or(after)?))
    })?;
    // The tolerance class of `G1/4A` affects neither size nor pitch.
    let rest = match mark {
        PipeMark::G => rest.trim_end_matches(['A', 'B']),
        _ => rest,
    };
    let rest = rest.trim_matches([' ', '-']);
    let sizes = mark.sizes();
    let found = sizes.iter().copied().find(|size| is_named(size, rest));
    Some(found.map(|size| (size, mark)).ok_or_else(|| {
        let known: Vec<String> = sizes.iter().map(|size| mark.write(size)).collect();
        Error::new("a pipe thread of a standard size", quoted(text))
            .with_help(format!("the sizes are {}", known.join(", ")))
    }))
}

fn is_digit(letter: char) -> bool {
    letter.is_ascii_digit()
}

/// Whether a typed size, with or without its threads per inch, is this one.
fn is_named(size: &PipeSize, typed: &str) -> bool {
    let plain: String = typed
        .replace("IN", "")
        .replace(['"', '″'], "")
        .split([' ', '-'])
        .filter(|part| !part.is_empty())
        .collect::<Vec<_>>()
        .join("-");
    let pitch = plain.strip_prefix(size.name);
    pitch.is_some_and(|pitch| {
        let typed = pitch
            .strip_prefix('-')
            .map(|typed| typed.replace("11-1/2", "11.5"));
        pitch.is_empty() || typed.is_some_and(|typed| typed == threads(size))
    })
}

/// The pipe threads of a size with this many threads per inch, for text without a mark.
pub(super) fn unmarked(typed: &str) -> Option<String> {
    let marks = [PipeMark::Npt, PipeMark::G, PipeMark::Bspt].into_iter();
    let written = marks.filter_map(|mark| {
        let mut sizes = mark.sizes().into_iter();
        let size = sizes.find(|size| typed == format!("{}-{}", size.name, threads(size)))?;
        Some(format!("`{}`", mark.write(size)))
    });
    let written: Vec<String> = written.collect();
    (!written.is_empty()).then(|| format!("as a pipe thread, it is {}", written.join(" or ")))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_tables_are_in_order() {
        for table in [NPT, BSP] {
            assert!(table.is_sorted_by(|a, b| a.diameter < b.diameter));
            assert!(table.is_sorted_by(|a, b| a.half_threads >= b.half_threads));
        }
    }
}
