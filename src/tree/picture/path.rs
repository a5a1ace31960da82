//! The outlines of shapes, and their text in SVG.

use std::fmt::Write;

/// A point in the units of a drawing.
pub(crate) type Spot = [i32; 2];

/// A piece of an outline. Points are absolute.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Segment {
    Move(Spot),
    Line(Spot),
    Quadratic([Spot; 2]),
    Cubic([Spot; 3]),
    Close,
}

impl Segment {
    /// Where it ends. `None` if that is where its outline begins.
    pub(super) fn end(self) -> Option<Spot> {
        match self {
            Segment::Move(to)
            | Segment::Line(to)
            | Segment::Quadratic([_, to])
            | Segment::Cubic([.., to]) => Some(to),
            Segment::Close => None,
        }
    }
}

/// Writes outlines as the data of an SVG path, in few bytes: relative, without repeated letters, and with circles as arcs.
/// No point is moved. A control point is moved by at most [`TOLERANCE`].
#[derive(Default)]
pub(crate) struct PathText {
    text: String,
    /// The letter that the next command does not need.
    letter: char,
    at: Spot,
    start: Spot,
    /// The second control point of the curve before.
    control: Option<Spot>,
}

/// How far a control point may be from where a short form of its curve has it: a fifth of a usual line. The curve itself is
/// moved by less than half of that.
const TOLERANCE: i32 = 2;

impl PathText {
    /// Adds outlines. Each begins with a move.
    pub(crate) fn add(&mut self, outlines: &[Segment]) {
        let mut rest = outlines;
        while let Some((segment, after)) = rest.split_first() {
            rest = after;
            match *segment {
                Segment::Move(to) => {
                    self.go(to);
                    if let Some(after) = self.ellipse(rest) {
                        rest = after;
                    }
                }
                // Closing draws the same line.
                Segment::Line(to) if to == self.start && after.first() == Some(&Segment::Close) => {
                }
                Segment::Line(to) => self.line(to),
                Segment::Quadratic([by, to]) => {
                    let numbers = [self.from(by), self.from(to)].concat();
                    self.command('q', &numbers);
                    self.at = to;
                }
                Segment::Cubic(points) => self.cubic(points),
                Segment::Close => {
                    self.text.push('z');
                    (self.letter, self.at, self.control) = ('z', self.start, None);
                }
            }
        }
    }

    /// The data of the path.
    #[must_use]
    pub(crate) fn finish(self) -> String {
        self.text
    }

    fn go(&mut self, to: Spot) {
        // The first move of a path is absolute. Numbers that follow a relative move are those of a relative line.
        self.command('m', &self.from(to));
        (self.letter, self.at, self.start) = ('l', to, to);
    }

    fn line(&mut self, to: Spot) {
        match self.from(to) {
            [x, 0] => self.command('h', &[x]),
            [0, y] => self.command('v', &[y]),
            by => self.command('l', &by),
        }
        self.at = to;
    }

    fn cubic(&mut self, points: [Spot; 3]) {
        let [first, second, to] = points.map(|point| self.from(point));
        let mirrored = self.control.map(|control| self.from(control));
        let is_smooth = mirrored.is_some_and(|[x, y]| is_near(first, [-x, -y]));
        if is_smooth {
            self.command('s', &[second, to].concat());
        } else {
            self.command('c', &[first, second, to].concat());
        }
        (self.control, self.at) = (Some(points[1]), points[2]);
    }

    /// Draws curves as two arcs, if they are an ellipse that is not turned. What follows them.
    fn ellipse<'s>(&mut self, segments: &'s [Segment]) -> Option<&'s [Segment]> {
        let start = self.at;
        let curves = segments.iter().map_while(|segment| match segment {
            Segment::Cubic(points) => Some(*points),
            _ => None,
        });
        let curves: Vec<[Spot; 3]> = curves.collect();
        let round = Ellipse::around(curves.iter().map(|curve| curve[2]))?;
        let [width, height] = round.size();
        // It begins at its left or right end, or at its top or bottom.
        let across = match start {
            [x, _] if x == round.least[0] => [width, 0],
            [x, _] if x == round.most[0] => [-width, 0],
            [_, y] if y == round.least[1] => [0, height],
            [_, y] if y == round.most[1] => [0, -height],
            _ => return None,
        };
        if curves.len() < 4 || curves.last()?[2] != start || width < 2 || height < 2 {
            return None;
        }
        let mut at = start;
        for curve in &curves {
            if !round.has(at, *curve) {
                return None;
            }
            at = curve[2];
        }
        let turn = i32::from(round.is_clockwise(start, curves.first()?[2]));
        let [x, y] = across;
        // Writing into a string can't fail.
        for ([x, y], begin) in [([x, y], "a"), ([-x, -y], " ")] {
            let _ = write!(
                self.text,
                "{begin}{} {} 0 1{turn}{x}",
                width / 2,
                height / 2
            );
            let _ = write!(self.text, "{}{y}", if y < 0 { "" } else { " " });
        }
        (self.letter, self.control) = ('a', None);
        segments.get(curves.len()..)
    }

    /// A point, from where the path is.
    fn from(&self, point: Spot) -> Spot {
        [point[0] - self.at[0], point[1] - self.at[1]]
    }

    fn command(&mut self, letter: char, numbers: &[i32]) {
        let mut is_separate = letter != self.letter;
        if is_separate {
            self.text.push(letter);
        }
        for number in numbers {
            if !is_separate && *number >= 0 {
                self.text.push(' ');
            }
            let _ = write!(self.text, "{number}");
            is_separate = false;
        }
        (self.letter, self.control) = (letter, None);
    }
}

/// An ellipse, by its bounds.
struct Ellipse {
    least: Spot,
    most: Spot,
}

impl Ellipse {
    fn around(points: impl Iterator<Item = Spot>) -> Option<Ellipse> {
        let bounds = points.map(|point| Ellipse {
            least: point,
            most: point,
        });
        bounds.reduce(|all, one| Ellipse {
            least: [0, 1].map(|axis: usize| all.least[axis].min(one.least[axis])),
            most: [0, 1].map(|axis: usize| all.most[axis].max(one.most[axis])),
        })
    }

    fn size(&self) -> [i32; 2] {
        [0, 1].map(|axis: usize| self.most[axis] - self.least[axis])
    }

    /// A point from the middle, in half axes.
    fn in_half_axes(&self, point: [f64; 2]) -> [f64; 2] {
        [0, 1].map(|axis: usize| {
            let (least, most) = (f64::from(self.least[axis]), f64::from(self.most[axis]));
            (point[axis] - f64::midpoint(least, most)) * 2.0 / (most - least)
        })
    }

    /// Whether the end and the middle of a curve are on it, within one unit.
    fn has(&self, from: Spot, [first, second, to]: [Spot; 3]) -> bool {
        let middle = [0, 1].map(|axis: usize| {
            let controls = f64::from(first[axis]) + f64::from(second[axis]);
            (f64::from(from[axis]) + 3.0 * controls + f64::from(to[axis])) / 8.0
        });
        let [width, height] = self.size();
        [middle, to.map(f64::from)].iter().all(|point| {
            let [x, y] = self.in_half_axes(*point);
            (x.hypot(y) - 1.0).abs() * f64::from(width.min(height)) / 2.0 <= 1.0
        })
    }

    fn is_clockwise(&self, from: Spot, to: Spot) -> bool {
        let [from_x, from_y] = self.in_half_axes(from.map(f64::from));
        let [to_x, to_y] = self.in_half_axes(to.map(f64::from));
        from_x * to_y > from_y * to_x
    }
}

fn is_near(one: Spot, other: Spot) -> bool {
    (0..2).all(|axis| (one[axis] - other[axis]).abs() <= TOLERANCE)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn text(segments: &[Segment]) -> String {
        let mut path = PathText::default();
        path.add(segments);
        path.finish()
    }

    use Segment::{Close, Cubic, Line, Move, Quadratic};

    #[test]
    fn lines_are_relative_and_repeat_no_letter() {
        let outline = [
            Move([10, 20]),
            Line([30, 20]),
            Line([30, 10]),
            Line([40, 15]),
            Line([35, 25]),
            Line([10, 20]),
            Close,
            Move([10, 30]),
            Line([20, 25]),
        ];
        assert_eq!(text(&outline), "m10 20h20v-10l10 5-5 10zm0 10 10-5");
        // A line to the start is drawn, unless the outline is closed.
        let open = [Move([0, 0]), Line([5, 5]), Line([0, 0])];
        assert_eq!(text(&open), "m0 0 5 5-5-5");
        assert_eq!(text(&[Move([3, 4]), Line([3, 4])]), "m3 4h0");
    }

    #[test]
    fn a_curve_that_goes_on_smoothly_has_one_control_point() {
        let first = Cubic([[0, 10], [10, 20], [20, 20]]);
        let smooth = [Move([0, 0]), first, Cubic([[31, 20], [40, 10], [40, 0]])];
        assert_eq!(text(&smooth), "m0 0c0 10 10 20 20 20s20-10 20-20");
        let bent = [Move([0, 0]), first, Cubic([[33, 20], [40, 10], [40, 0]])];
        assert_eq!(text(&bent), "m0 0c0 10 10 20 20 20 13 0 20-10 20-20");
        // Only a cubic curve before it counts.
        let apart = [
            Move([0, 0]),
            first,
            Quadratic([[20, 20], [20, 20]]),
            Cubic([[30, 20], [40, 10], [40, 0]]),
        ];
        assert_eq!(
            text(&apart),
            "m0 0c0 10 10 20 20 20q0 0 0 0c10 0 20-10 20-20"
        );
    }

    #[test]
    fn a_circle_is_two_arcs() {
        let circle = [
            Move([100, 50]),
            Cubic([[100, 78], [78, 100], [50, 100]]),
            Cubic([[22, 100], [0, 78], [0, 50]]),
            Cubic([[0, 22], [22, 0], [50, 0]]),
            Cubic([[78, 0], [100, 22], [100, 50]]),
            Close,
        ];
        assert_eq!(text(&circle), "m100 50a50 50 0 11-100 0 50 50 0 11100 0z");
        let mut square = circle;
        square[1] = Cubic([[100, 82], [82, 100], [50, 100]]);
        assert!(!text(&square).contains('a'), "{}", text(&square));
        let mut open = circle;
        open[4] = Cubic([[78, 0], [100, 22], [100, 49]]);
        assert!(!text(&open).contains('a'), "{}", text(&open));
        // In the other direction, and wider than high.
        let ellipse = [
            Move([0, 30]),
            Cubic([[0, 47], [22, 60], [50, 60]]),
            Cubic([[78, 60], [100, 47], [100, 30]]),
            Cubic([[100, 13], [78, 0], [50, 0]]),
            Cubic([[22, 0], [0, 13], [0, 30]]),
        ];
        assert_eq!(text(&ellipse), "m0 30a50 30 0 10100 0 50 30 0 10-100 0");
    }
}
