//! The tables of thread sizes: metric by ISO 262 and ISO 261, unified by ASME B1.1.

/// A row of the metric table, in micrometres.
pub(super) struct MetricRow {
    pub(super) diameter: u32,
    pub(super) coarse: u32,
    pub(super) fine: &'static [u32],
}

const fn metric(diameter: u32, coarse: u32, fine: &'static [u32]) -> MetricRow {
    MetricRow {
        diameter,
        coarse,
        fine,
    }
}

/// ISO 262, general-purpose selection: diameter, coarse pitch, fine pitches.
///
/// Source: an open parts library's copy of the table (`FreeCAD_FastenersWB`, `iso262def.csv`).
/// M14×1.25 is not in ISO 262: it is the thread of spark plugs, from memory of ISO 261.
pub(super) const METRIC: &[MetricRow] = &[
    metric(1_000, 250, &[]),
    metric(1_200, 250, &[]),
    metric(1_400, 300, &[]),
    metric(1_600, 350, &[]),
    metric(1_800, 350, &[]),
    metric(2_000, 400, &[]),
    metric(2_500, 450, &[]),
    metric(3_000, 500, &[]),
    metric(3_500, 600, &[]),
    metric(4_000, 700, &[]),
    metric(5_000, 800, &[]),
    metric(6_000, 1_000, &[]),
    metric(7_000, 1_000, &[]),
    metric(8_000, 1_250, &[1_000]),
    metric(10_000, 1_500, &[1_250, 1_000]),
    metric(12_000, 1_750, &[1_500, 1_250]),
    metric(14_000, 2_000, &[1_500, 1_250]),
    metric(16_000, 2_000, &[1_500]),
    metric(18_000, 2_500, &[2_000, 1_500]),
    metric(20_000, 2_500, &[2_000, 1_500]),
    metric(22_000, 2_500, &[2_000, 1_500]),
    metric(24_000, 3_000, &[2_000]),
    metric(27_000, 3_000, &[2_000]),
    metric(30_000, 3_500, &[2_000]),
    metric(33_000, 3_500, &[2_000]),
    metric(36_000, 4_000, &[3_000]),
    metric(39_000, 4_000, &[3_000]),
    metric(42_000, 4_500, &[3_000]),
    metric(45_000, 4_500, &[3_000]),
    metric(48_000, 5_000, &[3_000]),
    metric(52_000, 5_000, &[4_000]),
    metric(56_000, 5_500, &[4_000]),
    metric(60_000, 5_500, &[4_000]),
    metric(64_000, 6_000, &[4_000]),
];

/// The pitches of ISO 261, in micrometres: those of the table above, and 0.2, 0.75 and 8 mm from
/// memory.
pub(super) const PITCHES: &[u32] = &[
    200, 250, 300, 350, 400, 450, 500, 600, 700, 750, 800, 1_000, 1_250, 1_500, 1_750, 2_000,
    2_500, 3_000, 3_500, 4_000, 4_500, 5_000, 5_500, 6_000, 8_000,
];

/// The largest diameter of ISO 261, in micrometres.
pub(super) const LARGEST_METRIC: u32 = 300_000;

/// The least ratio of diameter to pitch: that of M1, the coarsest of all standard threads.
pub(super) const COARSEST: u32 = 4;

/// A row of the unified table: the diameter in ten-thousandths of an inch, and the threads per inch
/// of both series.
#[derive(Debug, PartialEq, Eq, Hash)]
pub(super) struct Size {
    pub(super) name: &'static str,
    pub(super) diameter: u32,
    pub(super) coarse: Option<u32>,
    pub(super) fine: u32,
}

const fn unified(name: &'static str, diameter: u32, coarse: Option<u32>, fine: u32) -> Size {
    Size {
        name,
        diameter,
        coarse,
        fine,
    }
}

/// ASME B1.1: size, diameter, UNC, UNF.
///
/// Sources: published tables. UNF in "UNF" (boltport, threads) and "Unified Screw Threads" (efunda);
/// UNC in "Unified National Coarse (UNC) Thread Chart" (threadchart) and "Thread Geometry, Unified
/// Coarse" (trfastenings). #0 has no coarse thread.
pub(super) const UNIFIED: &[Size] = &[
    unified("#0", 600, None, 80),
    unified("#1", 730, Some(64), 72),
    unified("#2", 860, Some(56), 64),
    unified("#3", 990, Some(48), 56),
    unified("#4", 1_120, Some(40), 48),
    unified("#5", 1_250, Some(40), 44),
    unified("#6", 1_380, Some(32), 40),
    unified("#8", 1_640, Some(32), 36),
    unified("#10", 1_900, Some(24), 32),
    unified("#12", 2_160, Some(24), 28),
    unified("1/4", 2_500, Some(20), 28),
    unified("5/16", 3_125, Some(18), 24),
    unified("3/8", 3_750, Some(16), 24),
    unified("7/16", 4_375, Some(14), 20),
    unified("1/2", 5_000, Some(13), 20),
    unified("9/16", 5_625, Some(12), 18),
    unified("5/8", 6_250, Some(11), 18),
    unified("3/4", 7_500, Some(10), 16),
    unified("7/8", 8_750, Some(9), 14),
    unified("1", 10_000, Some(8), 12),
    unified("1-1/8", 11_250, Some(7), 12),
    unified("1-1/4", 12_500, Some(7), 12),
    unified("1-3/8", 13_750, Some(6), 12),
    unified("1-1/2", 15_000, Some(6), 12),
];

/// The finest unified thread, #0-80, in threads per inch.
pub(super) const MOST_PER_INCH: u32 = 80;

/// Units of [`Size::diameter`] in an inch.
pub(super) const TEN_THOUSAND: u32 = 10_000;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_tables_are_in_order_and_within_the_bounds() {
        assert!(METRIC.is_sorted_by(|a, b| a.diameter < b.diameter));
        assert!(UNIFIED.is_sorted_by(|a, b| a.diameter < b.diameter));
        for row in METRIC {
            assert!(row.coarse * COARSEST <= row.diameter);
            assert!(row.fine.iter().all(|pitch| *pitch < row.coarse));
            assert!(PITCHES.contains(&row.coarse));
            assert!(row.fine.iter().all(|pitch| PITCHES.contains(pitch)));
        }
        for size in UNIFIED {
            assert!(size.coarse.is_none_or(|coarse| coarse < size.fine));
        }
    }
}
