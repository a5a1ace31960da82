//! Spark plugs: the torques that they are usually tightened to.

use std::fmt;

use super::figures::{ratio, shown, whole};
use super::thread::Thread;
use super::tightening::Material;
use crate::quantity::{Quantity, Rational, Unit};

/// How a spark plug seals.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum PlugSeat {
    /// A flat seat with a gasket.
    Gasket,
    /// A conical seat without a gasket. It needs less torque.
    Taper,
}

impl PlugSeat {
    /// Both seats.
    pub const ALL: &[Self] = &[Self::Gasket, Self::Taper];

    /// The name, such as `gasket seat`.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Gasket => "gasket seat",
            Self::Taper => "taper seat",
        }
    }
}

impl fmt::Display for PlugSeat {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(self.name())
    }
}

/// A row of the table: usual torques in tenths of a ft·lbf, in a head of cast iron and of aluminium.
struct Row {
    thread: &'static str,
    seat: PlugSeat,
    iron: Option<(i64, i64)>,
    aluminium: (i64, i64),
}

const fn row(
    thread: &'static str,
    seat: PlugSeat,
    iron: Option<(i64, i64)>,
    aluminium: (i64, i64),
) -> Row {
    Row {
        thread,
        seat,
        iron,
        aluminium,
    }
}

/// Each range covers those of two published tables, both read: "Spark Plug Tightening Torque" of a
/// university's extension service (lsuagcenter), and a plug maker's page of installation. They are row
/// by row in `tests/reference/spark_plugs.toml`. The tables give the diameter; that these are the pitches
/// of plugs is from memory.
const ROWS: &[Row] = &[
    row("M8x1", PlugSeat::Gasket, None, (58, 72)),
    row("M10x1", PlugSeat::Gasket, Some((70, 110)), (70, 110)),
    row("M12x1.25", PlugSeat::Gasket, Some((108, 190)), (108, 190)),
    row("M14x1.25", PlugSeat::Gasket, Some((180, 290)), (150, 220)),
    row("M14x1.25", PlugSeat::Taper, Some((70, 180)), (70, 150)),
    row("M18x1.5", PlugSeat::Gasket, Some((253, 380)), (253, 340)),
    row("M18x1.5", PlugSeat::Taper, Some((145, 216)), (145, 216)),
    row("7/8-18 UNS", PlugSeat::Gasket, Some((350, 430)), (310, 390)),
];

/// The threads that spark plugs are made with: M8×1, M10×1, M12×1.25, M14×1.25, M18×1.5, 7/8-18 UNS.
#[must_use]
pub fn plug_threads() -> Vec<Thread> {
    let mut threads: Vec<Thread> = Vec::new();
    for thread in ROWS.iter().filter_map(|row| Thread::parse(row.thread).ok()) {
        if !threads.contains(&thread) {
            threads.push(thread);
        }
    }
    threads
}

/// The least and the greatest torque that spark plugs are usually tightened to, dry, by published
/// tables. In N·m, exact, with three significant figures.
///
/// Without the material of the head, or with one that is neither cast iron nor aluminium, the range
/// covers both. `None` if the tables have no plug with this thread and seat.
///
/// ```
/// use benchleaf::trade::{Material, PlugSeat, Thread, usual_plug_torque};
///
/// let thread = Thread::parse("M14x1.25")?;
/// let usual = usual_plug_torque(&thread, PlugSeat::Gasket, Some(Material::Aluminium));
/// let (least, most) = usual.unwrap();
/// assert_eq!(least.text(), "20.3\u{a0}N·m");
/// assert_eq!(most.text(), "29.8\u{a0}N·m");
/// # Ok::<(), benchleaf::trade::Error>(())
/// ```
#[must_use]
pub fn usual_plug_torque(
    thread: &Thread,
    seat: PlugSeat,
    head: Option<Material>,
) -> Option<(Quantity, Quantity)> {
    let of_thread = |row: &&Row| Thread::parse(row.thread).as_ref() == Ok(thread);
    let row = ROWS.iter().filter(of_thread).find(|row| row.seat == seat)?;
    let (least, most) = match head {
        Some(Material::CastIron) => row.iron?,
        Some(Material::Aluminium) => row.aluminium,
        _ => {
            let (least, most) = row.aluminium;
            let iron = row.iron.unwrap_or(row.aluminium);
            (least.min(iron.0), most.max(iron.1))
        }
    };
    let torque = |tenths: i64| {
        let torque: Rational = ratio(tenths, 10) * Unit::FOOT_POUND.factor();
        shown(torque / Unit::NEWTON_METRE.factor(), Unit::NEWTON_METRE)
    };
    debug_assert!(whole(least) < whole(most));
    Some((torque(least), torque(most)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_thread_of_the_table_parses_and_every_range_is_in_order() {
        for row in ROWS {
            assert!(Thread::parse(row.thread).is_ok(), "{}", row.thread);
            let ranges = row.iron.into_iter().chain([row.aluminium]);
            assert!(ranges.into_iter().all(|(least, most)| least < most));
        }
    }
}
