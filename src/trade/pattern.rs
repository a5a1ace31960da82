//! The order in which the fasteners of a joint are tightened.

/// The order in which the fasteners of a joint are tightened.
///
/// Common practice, no source: the joint is pulled down evenly, from its middle outwards or from opposite sides.
///
/// ```
/// use benchleaf::trade::{FastenerPlace, TighteningPattern};
///
/// // Four fasteners around a circle, clockwise from the top.
/// assert_eq!(TighteningPattern::Crosswise.around(4), [1, 3, 2, 4]);
/// // Two rows of three, from the upper left. The middle pair is first.
/// let places = FastenerPlace::two_rows(6);
/// assert_eq!(TighteningPattern::Spiral.turns(&places), [6, 1, 3, 5, 2, 4]);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TighteningPattern {
    /// Each fastener is followed by the one opposite.
    Crosswise,
    /// Each fastener is followed by its neighbour, clockwise from the top.
    Ring,
    /// From the middle outwards, clockwise.
    Spiral,
}

/// The place of a fastener on the joint, seen from the heads: to the right and upwards, in thousandths of any unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FastenerPlace {
    /// To the right.
    pub x: i32,
    /// Upwards.
    pub y: i32,
}

impl FastenerPlace {
    /// Fasteners in two rows, from the upper left to the lower right, as on a cylinder head. Of an odd number, the upper
    /// row has one more.
    #[must_use]
    pub fn two_rows(count: u32) -> Vec<FastenerPlace> {
        let upper = count.div_ceil(2);
        let row = |count: u32, y: i32| {
            let width = i32::try_from(count).unwrap_or(i32::MAX);
            (0..width).map(move |index| FastenerPlace {
                x: 1_000 * index - 500 * (width - 1),
                y,
            })
        };
        row(upper, 900).chain(row(count - upper, -900)).collect()
    }

    /// Parses a place written as `x, y`: `-30, 12.5`. Each number has at most five digits before its decimal point and three
    /// behind it.
    #[must_use]
    pub fn parse(text: &str) -> Option<FastenerPlace> {
        let (x, y) = text.split_once(',')?;
        Some(FastenerPlace {
            x: thousandths(x.trim())?,
            y: thousandths(y.trim())?,
        })
    }
}

/// A decimal number in thousandths.
fn thousandths(text: &str) -> Option<i32> {
    let (sign, digits) = match text.strip_prefix('-') {
        Some(digits) => (-1, digits),
        None => (1, text),
    };
    let (whole, fraction) = digits.split_once('.').unwrap_or((digits, "0"));
    let is_number = |digits: &str, most: usize| {
        (1..=most).contains(&digits.len()) && digits.bytes().all(|byte| byte.is_ascii_digit())
    };
    if !is_number(whole, 5) || !is_number(fraction, 3) {
        return None;
    }
    let number: i32 = format!("{whole}{fraction:0<3}").parse().ok()?;
    Some(sign * number)
}

/// A place from the middle of all: the number of fasteners times its distance, so that it is whole.
#[derive(Clone, Copy)]
struct FromMiddle {
    x: i64,
    y: i64,
}

impl FromMiddle {
    fn distance(self) -> i128 {
        let (x, y) = (i128::from(self.x), i128::from(self.y));
        x * x + y * y
    }

    /// 0 for the right half, from the top down, and 1 for the left half, from the bottom up.
    fn half(self) -> u8 {
        u8::from(self.x < 0 || (self.x == 0 && self.y < 0))
    }

    /// The order clockwise from the top.
    fn clockwise(self, other: FromMiddle) -> std::cmp::Ordering {
        let cross =
            i128::from(self.x) * i128::from(other.y) - i128::from(self.y) * i128::from(other.x);
        self.half().cmp(&other.half()).then(cross.cmp(&0))
    }
}

impl TighteningPattern {
    /// All patterns.
    pub const ALL: [TighteningPattern; 3] = [
        TighteningPattern::Crosswise,
        TighteningPattern::Ring,
        TighteningPattern::Spiral,
    ];

    /// The word for it in the sources.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            TighteningPattern::Crosswise => "crosswise",
            TighteningPattern::Ring => "ring",
            TighteningPattern::Spiral => "spiral",
        }
    }

    /// The turn of each of some fasteners that are spaced evenly around a circle, from 1, clockwise from the top.
    #[must_use]
    pub fn around(self, count: u32) -> Vec<u32> {
        match self {
            TighteningPattern::Crosswise => crosswise(count),
            TighteningPattern::Ring | TighteningPattern::Spiral => (1..=count).collect(),
        }
    }

    /// The turn of each fastener at these places, from 1.
    #[must_use]
    pub fn turns(self, places: &[FastenerPlace]) -> Vec<u32> {
        let count = i64::try_from(places.len()).unwrap_or(i64::MAX);
        let sum = |of: fn(&FastenerPlace) -> i32| -> i64 {
            places.iter().map(|place| i64::from(of(place))).sum()
        };
        let (x, y) = (sum(|place| place.x), sum(|place| place.y));
        let from_middle: Vec<FromMiddle> = places
            .iter()
            .map(|place| FromMiddle {
                x: i64::from(place.x) * count - x,
                y: i64::from(place.y) * count - y,
            })
            .collect();
        // The indices of the places in the order around the middle, or outwards.
        let mut order: Vec<usize> = (0..places.len()).collect();
        let clockwise = |a: &usize, b: &usize| from_middle[*a].clockwise(from_middle[*b]);
        let turns = match self {
            TighteningPattern::Spiral => {
                order.sort_by(|a, b| {
                    let outwards = from_middle[*a].distance().cmp(&from_middle[*b].distance());
                    outwards.then_with(|| clockwise(a, b))
                });
                self.around(u32::try_from(places.len()).unwrap_or(u32::MAX))
            }
            TighteningPattern::Crosswise | TighteningPattern::Ring => {
                order.sort_by(clockwise);
                self.around(u32::try_from(places.len()).unwrap_or(u32::MAX))
            }
        };
        let mut by_place = vec![0; places.len()];
        for (index, turn) in order.into_iter().zip(turns) {
            by_place[index] = turn;
        }
        by_place
    }
}

/// The crosswise order around a circle. Each fastener is followed by the one opposite, and each pair lies as far as possible
/// from the pair before. Of an odd number, each is followed by the one that lies most nearly opposite, as on a wheel with
/// five nuts.
fn crosswise(count: u32) -> Vec<u32> {
    let mut order = vec![0; count as usize];
    if count % 2 == 1 {
        let step = count.div_ceil(2);
        // A step that shares a divisor with the count would come back too soon. Two neighbouring numbers share none.
        for turn in 0..count {
            let at = u64::from(turn) * u64::from(step) % u64::from(count);
            order[usize::try_from(at).unwrap_or(0)] = turn + 1;
        }
        return order;
    }
    let half = count / 2;
    // Sorting by the reversed bits of the index separates neighbouring pairs: 0, 2, 1, 3.
    let bits = u32::BITS - half.saturating_sub(1).leading_zeros();
    let reversed = |pair: u32| pair.reverse_bits() >> (u32::BITS - bits.max(1));
    let mut pairs: Vec<u32> = (0..half).collect();
    pairs.sort_by_key(|pair| reversed(*pair));
    for (turn, pair) in (0_u32..).zip(pairs) {
        order[pair as usize] = 2 * turn + 1;
        order[(pair + half) as usize] = 2 * turn + 2;
    }
    order
}

#[cfg(test)]
mod tests {
    use super::*;

    fn is_permutation(turns: &[u32]) -> bool {
        let mut sorted = turns.to_vec();
        sorted.sort_unstable();
        let count = u32::try_from(turns.len()).unwrap();
        sorted == (1..=count).collect::<Vec<_>>()
    }

    /// Common practice, no source: four wheel nuts are tightened 1, 3, 2, 4 around the circle, and five as a star.
    #[test]
    fn crosswise_goes_to_the_other_side_each_time() {
        assert_eq!(crosswise(4), [1, 3, 2, 4]);
        assert_eq!(crosswise(5), [1, 3, 5, 2, 4]);
        for count in [2, 4, 6, 8, 10, 12] {
            let order = crosswise(count);
            let half = count as usize / 2;
            assert!((0..half).all(|index| order[index + half] == order[index] + 1));
        }
        for count in 1..40 {
            assert!(is_permutation(&crosswise(count)), "{count}");
        }
    }

    /// Common practice, no source: a cylinder head is tightened from its middle outwards.
    #[test]
    fn spiral_goes_outwards() {
        let ten = TighteningPattern::Spiral.turns(&FastenerPlace::two_rows(10));
        // Upper row, then lower row.
        assert_eq!(ten, [10, 6, 1, 3, 7, 9, 5, 2, 4, 8]);
        for count in 1..40 {
            let places = FastenerPlace::two_rows(count);
            for pattern in TighteningPattern::ALL {
                assert!(
                    is_permutation(&pattern.turns(&places)),
                    "{count} {pattern:?}"
                );
            }
        }
    }

    #[test]
    fn order_does_not_depend_on_the_order_in_which_places_are_written() {
        let square = ["10, 10", "10, -10", "-10, -10", "-10, 10"]
            .map(|text| FastenerPlace::parse(text).unwrap());
        let ring = TighteningPattern::Ring.turns(&square);
        assert_eq!(ring, [1, 2, 3, 4]);
        let mut mixed = square;
        mixed.swap(0, 2);
        assert_eq!(TighteningPattern::Ring.turns(&mixed), [3, 2, 1, 4]);
        assert_eq!(TighteningPattern::Crosswise.turns(&square), [1, 3, 2, 4]);
    }

    #[test]
    fn place_is_two_numbers() {
        let place = |text: &str| FastenerPlace::parse(text).map(|place| (place.x, place.y));
        assert_eq!(place("0, 60"), Some((0, 60_000)));
        assert_eq!(place("-30,12.5"), Some((-30_000, 12_500)));
        for text in [
            "",
            "1",
            "1 2",
            "1,",
            "1, 2, 3",
            "a, b",
            "1e3, 2",
            "123456, 0",
            "1.2345, 0",
            "+1, 2",
            "--1, 2",
        ] {
            assert_eq!(place(text), None, "{text}");
        }
    }
}
