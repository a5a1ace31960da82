//! Bolt heads and nuts, and the wrenches that fit them.

use std::fmt;

use super::error::{Error, quoted};
use super::figures::{ratio, whole};
use super::thread::Thread;
use crate::quantity::{Kind, Quantity};

macro_rules! heads {
    ($($(#[$doc:meta])* $name:ident = $text:literal;)+) => {
        /// A shape of head or nut. With the thread it determines the size across flats.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
        #[non_exhaustive]
        pub enum Head {
            $($(#[$doc])* $name,)+
        }

        impl Head {
            /// All heads, the most common first.
            pub const ALL: &[Self] = &[$(Self::$name,)+];

            /// The name, with the standard where two have the same shape.
            #[must_use]
            pub const fn name(self) -> &'static str {
                match self {
                    $(Self::$name => $text,)+
                }
            }
        }
    };
}

heads! {
    /// Hex bolts and screws: ISO 4014 and 4017; ASME B18.2.1.
    Bolt = "hex bolt";
    /// Hex nuts: ISO 4032; ASME B18.2.2.
    Nut = "hex nut";
    /// Hex bolts and nuts in the old sizes of DIN 931, 933 and 934.
    OldHex = "hex head in an old DIN size";
    /// Small hex heads of JIS B 1180, common on Japanese engines.
    SmallHex = "small JIS hex head";
    /// Flange bolts, small series: ISO 15071, ISO 4162, JIS B 1189; in inches, the hex flange
    /// screws of ASME B18.2.1.
    Flange = "flange bolt";
    /// Flange bolts, heavy series: EN 1665.
    HeavyFlange = "heavy flange bolt";
    /// Flange nuts: ISO 4161.
    FlangeNut = "flange nut";
    /// Socket head cap screws: ISO 4762; ASME B18.3. The size is that of the hex key.
    Socket = "socket head";
}

impl fmt::Display for Head {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(self.name())
    }
}

/// The size does not exist or is unknown.
const NONE: &str = "";

/// Sizes in mm by thread, in the order of [`METRIC_HEADS`].
///
/// Sources: tables of open parts libraries (`bd_warehouse` 0.4.0, `FreeCAD_FastenersWB`, BOLTS) and
/// web pages, row by row in `tests/reference/hex_sizes.toml`, with the sources that differ. The small
/// JIS heads are from a single page; that its column is JIS B 1180 is from memory. M18 and M22
/// sockets are from DIN 912.
#[rustfmt::skip]
const METRIC: &[(&str, [&str; 7])] = &[
    //        hex    old   small flange heavy  nut  socket
    ("M3",  ["5.5", "5.5", NONE, NONE, NONE, NONE, "2.5"]),
    ("M4",  ["7",   "7",   "7",  NONE, NONE, NONE, "3"]),
    ("M5",  ["8",   "8",   "8",  "7",  "8",  "8",  "4"]),
    ("M6",  ["10",  "10",  "10", "8",  "10", "10", "5"]),
    ("M8",  ["13",  "13",  "12", "10", "13", "13", "6"]),
    ("M10", ["16",  "17",  "14", "13", "16", "15", "8"]),
    ("M12", ["18",  "19",  "17", "15", "18", "18", "10"]),
    ("M14", ["21",  "22",  "19", "18", "21", "21", "12"]),
    ("M16", ["24",  "24",  "22", "21", "24", "24", "14"]),
    ("M18", ["27",  "27",  NONE, NONE, NONE, NONE, "14"]),
    ("M20", ["30",  "30",  NONE, NONE, "30", "30", "17"]),
    ("M22", ["34",  "32",  NONE, NONE, NONE, NONE, "17"]),
    ("M24", ["36",  "36",  NONE, NONE, NONE, NONE, "19"]),
];

/// In ISO, bolt heads and nuts have the same size.
const METRIC_HEADS: [&[Head]; 7] = [
    &[Head::Bolt, Head::Nut],
    &[Head::OldHex],
    &[Head::SmallHex],
    &[Head::Flange],
    &[Head::HeavyFlange],
    &[Head::FlangeNut],
    &[Head::Socket],
];

/// Sizes in inches by thread, in the order of [`INCH_HEADS`]. Sources as for [`METRIC`].
#[rustfmt::skip]
const INCH: &[(&str, [&str; 4])] = &[
    //         bolt     nut      flange   socket
    ("#8",   [NONE,    "11/32", NONE,    "9/64"]),
    ("#10",  [NONE,    "3/8",   NONE,    "5/32"]),
    ("1/4",  ["7/16",  "7/16",  "3/8",   "3/16"]),
    ("5/16", ["1/2",   "1/2",   "1/2",   "1/4"]),
    ("3/8",  ["9/16",  "9/16",  "9/16",  "5/16"]),
    ("7/16", ["5/8",   "11/16", "5/8",   "3/8"]),
    ("1/2",  ["3/4",   "3/4",   "3/4",   "3/8"]),
    ("9/16", ["13/16", "7/8",   NONE,    NONE]),
    ("5/8",  ["15/16", "15/16", "15/16", "1/2"]),
    ("3/4",  ["1 1/8", "1 1/8", "1 1/8", "5/8"]),
];

const INCH_HEADS: [&[Head]; 4] = [
    &[Head::Bolt],
    &[Head::Nut],
    &[Head::Flange],
    &[Head::Socket],
];

impl Head {
    /// The size across flats of this head with a thread, in mm or in; for a socket, that of its hex
    /// key. `None` if it does not exist or is not in the tables (M3 to M24, #8 to 3/4).
    ///
    /// ```
    /// use benchleaf::trade::{Head, Thread};
    ///
    /// let size = |thread, head: Head| {
    ///     let size = head.across_flats(&Thread::parse(thread).unwrap());
    ///     size.map(|size| size.text().replace('\u{a0}', " "))
    /// };
    /// assert_eq!(size("M6", Head::Bolt).as_deref(), Some("10 mm"));
    /// assert_eq!(size("3/8-16 UNC", Head::Bolt).as_deref(), Some("9/16 in"));
    /// assert_eq!(size("M30", Head::Bolt), None);
    /// ```
    #[must_use]
    pub fn across_flats(self, thread: &Thread) -> Option<Quantity> {
        let name = thread.size();
        let (sizes, heads, unit): (&[&str], &[&[Head]], &str) = if thread.is_metric() {
            let (_, sizes) = METRIC.iter().find(|(thread, _)| *thread == name)?;
            (sizes, &METRIC_HEADS, "mm")
        } else {
            let (_, sizes) = INCH.iter().find(|(thread, _)| *thread == name)?;
            (sizes, &INCH_HEADS, "in")
        };
        let at = heads.iter().position(|heads| heads.contains(&self))?;
        let size = sizes.get(at).filter(|size| !size.is_empty())?;
        // A test of this module parses every entry.
        Quantity::parse(&format!("{size} {unit}")).ok()
    }

    /// The heads with a thread that a wrench or hex key of this size fits.
    ///
    /// ```
    /// use benchleaf::quantity::Quantity;
    /// use benchleaf::trade::{Head, Thread};
    ///
    /// let ten = Quantity::parse("10 mm").unwrap();
    /// assert!(Head::fitted(&ten, &Thread::parse("M6")?).contains(&Head::Bolt));
    /// assert_eq!(Head::fitted(&ten, &Thread::parse("M8")?), [Head::Flange]);
    /// # Ok::<(), benchleaf::trade::Error>(())
    /// ```
    #[must_use]
    pub fn fitted(wrench: &Quantity, thread: &Thread) -> Vec<Self> {
        let fits = |head: &Self| {
            let size = head.across_flats(thread);
            size.is_some_and(|size| is_same_size(wrench, &size))
        };
        Self::ALL.iter().copied().filter(fits).collect()
    }
}

/// The drive of a fastener: an external or internal hexagon with its size across flats.
///
/// The size is a length above zero. Parsed are `hex 10 mm`, `hex 9/16 in`, `10 mm` and
/// `hex socket 4 mm`. It prints with the word `hex` or `hex socket`.
///
/// ```
/// use benchleaf::quantity::Quantity;
/// use benchleaf::trade::Drive;
///
/// let drive = Drive::parse("hex 10 mm")?;
/// assert!(drive.is_fitted_by(&Quantity::parse("10 mm").unwrap()));
/// assert!(!drive.is_fitted_by(&Quantity::parse("3/8 in").unwrap()));
/// assert_eq!(
///     Drive::parse("hex 10").unwrap_err().to_string(),
///     "expected a drive such as `hex 10 mm`, `hex 9/16 in` or `hex socket 4 mm`, found `hex 10`",
/// );
/// # Ok::<(), benchleaf::trade::Error>(())
/// ```
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Drive {
    size: Quantity,
    is_socket: bool,
}

impl Drive {
    /// Parses a drive, its words in any case.
    ///
    /// # Errors
    ///
    /// If the text is not a hexagon with a length above zero.
    pub fn parse(text: &str) -> Result<Self, Error> {
        let typed = text.trim();
        let after = |word: &str| {
            let (start, rest) = typed.split_at_checked(word.len())?;
            start.eq_ignore_ascii_case(word).then_some(rest)
        };
        let (size, is_socket) = match (after("hex socket "), after("hex ")) {
            (Some(size), _) => (size, true),
            (None, Some(size)) => (size, false),
            (None, None) => (typed, false),
        };
        let expected = "a drive such as `hex 10 mm`, `hex 9/16 in` or `hex socket 4 mm`";
        let error = || Error::new(expected, quoted(text));
        let size = Quantity::parse(size).map_err(|reason| match reason.help() {
            Some(help) => error().with_help(help),
            None => error(),
        })?;
        if size.kind() != Kind::Length || *size.value() <= whole(0) {
            return Err(error());
        }
        Ok(Self { size, is_socket })
    }

    /// The size across flats.
    #[must_use]
    pub fn size(&self) -> &Quantity {
        &self.size
    }

    /// Whether the hexagon is internal, for a hex key.
    #[must_use]
    pub fn is_socket(&self) -> bool {
        self.is_socket
    }

    /// Whether a wrench or hex key of this size fits: the sizes differ by at most one per cent.
    ///
    /// So 19 mm fits 3/4 in (0.3 %) and 8 mm fits 5/16 in (0.8 %), but 13 mm does not fit 1/2 in
    /// (2 %), and 11 mm is too tight for 7/16 in (1.02 %). Common practice, no source.
    #[must_use]
    pub fn is_fitted_by(&self, wrench: &Quantity) -> bool {
        is_same_size(wrench, &self.size)
    }
}

impl fmt::Display for Drive {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let shape = if self.is_socket { "hex socket" } else { "hex" };
        write!(out, "{shape} {}", self.size)
    }
}

/// Whether a wrench of one size fits a hexagon of the other: they differ by at most one per cent of the
/// larger. Symmetric. See [`Drive::is_fitted_by`].
#[must_use]
pub fn is_same_size(left: &Quantity, right: &Quantity) -> bool {
    // Most sizes that fit are written alike.
    if left.unit() == right.unit() && left.value() == right.value() {
        return true;
    }
    let Some(right) = right.in_unit(left.unit()) else {
        return false;
    };
    let (less, more) = if left.value() < right.value() {
        (left.value(), right.value())
    } else {
        (right.value(), left.value())
    };
    more - less <= more * ratio(1, 100)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_entry_parses() {
        let rows = METRIC
            .iter()
            .map(|(thread, sizes)| (*thread, sizes.as_slice(), METRIC_HEADS.as_slice()));
        let inch = INCH
            .iter()
            .map(|(thread, sizes)| (*thread, sizes.as_slice(), INCH_HEADS.as_slice()));
        for (name, sizes, heads) in rows.chain(inch) {
            let text = if name.starts_with('M') {
                name.to_owned()
            } else {
                format!("{name} UNC")
            };
            let thread = Thread::parse(&text).unwrap();
            for (size, heads) in sizes.iter().zip(heads) {
                for head in *heads {
                    let size_found = head.across_flats(&thread);
                    assert_eq!(size_found.is_some(), *size != NONE, "{name}, {head}");
                }
            }
        }
    }
}
