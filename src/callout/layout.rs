//! Puts the numbers around or beside the parts.

use crate::tree::{Area, Drawing, Place};

/// A part with its number.
#[derive(Clone, Debug)]
pub(crate) struct Numbered {
    pub(crate) number: u32,
    pub(crate) places: Vec<Place>,
}

/// What is shown of a figure, in the units of its drawing.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(crate) struct Layout {
    pub(crate) view: Area,
    /// The width in print, in tenths of a millimetre.
    pub(crate) print_width: i32,
    /// The radius of the circles.
    pub(crate) radius: i32,
    /// In the order of the numbers given.
    pub(crate) marks: Vec<Mark>,
}

/// A number in a circle, with a line to its part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(crate) struct Mark {
    pub(crate) number: u32,
    /// The middle of the circle.
    pub(crate) at: [i32; 2],
    /// The end of the line on the part. `None` if the circle touches the part.
    pub(crate) end: Option<[i32; 2]>,
}

/// The space of a figure in print, in tenths of a millimetre.
#[derive(Clone, Copy, Debug)]
pub(crate) struct PrintSpace {
    pub(crate) width: i32,
    pub(crate) height: i32,
    pub(crate) radius: i32,
}

impl PrintSpace {
    /// A whole figure on a sheet that is read.
    pub(crate) const WHOLE: PrintSpace = PrintSpace {
        width: 1_000,
        height: 520,
        radius: 22,
    };

    /// A whole figure on a checklist.
    pub(crate) const WHOLE_ON_LIST: PrintSpace = PrintSpace {
        width: 850,
        height: 340,
        radius: 20,
    };

    /// What a step touches, on a sheet that is read.
    pub(crate) const STEP: PrintSpace = PrintSpace {
        width: 270,
        height: 145,
        radius: 17,
    };

    /// What a step touches, on a checklist and in a manual.
    pub(crate) const STEP_ON_LIST: PrintSpace = PrintSpace {
        width: 150,
        height: 82,
        radius: 14,
    };

    /// The units of a drawing in a length of print, if a width and height of the drawing fill the space.
    fn units(self, length: i32, width: i32, height: i32) -> i32 {
        let (width, height) = (i64::from(width.max(1)), i64::from(height.max(1)));
        // The larger of both ratios is that of the side which fills the space.
        let across = width * i64::from(length) / i64::from(self.width);
        let down = height * i64::from(length) / i64::from(self.height);
        i32::try_from(across.max(down)).unwrap_or(i32::MAX).max(1)
    }
}

/// A whole figure: the numbers stand in rows above and below it, or in columns at its sides.
#[must_use]
pub(crate) fn whole(drawing: &Drawing, parts: &[Numbered], space: PrintSpace) -> Layout {
    let bounds = Area {
        left: 0,
        top: 0,
        right: drawing.width,
        bottom: drawing.height,
    };
    let radius = space.units(space.radius, bounds.width(), bounds.height());
    let rows = Sides::of(&bounds, parts, radius, Axis::Across);
    let columns = Sides::of(&bounds, parts, radius, Axis::Down);
    let sides = if rows.cost <= columns.cost {
        rows
    } else {
        columns
    };
    finish(bounds, sides.marks, radius, space)
}

/// The part of a figure around some parts: the numbers stand beside them.
#[must_use]
pub(crate) fn crop(drawing: &Drawing, parts: &[Numbered], space: PrintSpace) -> Layout {
    let areas = || {
        parts
            .iter()
            .flat_map(|part| &part.places)
            .map(|place| place.area)
    };
    let all = areas().reduce(|all, area| all.with(&area));
    let full = Area {
        left: 0,
        top: 0,
        right: drawing.width,
        bottom: drawing.height,
    };
    let bounds = all.map_or(full, |all| around(&all, &full, space));
    let radius = space.units(space.radius, bounds.width(), bounds.height());
    let taken: Vec<Area> = areas().collect();
    let mut marks: Vec<Mark> = Vec::new();
    for part in parts {
        let mark = beside(part, &bounds, &taken, &marks, radius);
        marks.push(mark);
    }
    finish(bounds, marks, radius, space)
}

/// The area shown: with the circles, and the width in print that it fits the space with.
fn finish(bounds: Area, marks: Vec<Mark>, radius: i32, space: PrintSpace) -> Layout {
    let circles = marks
        .iter()
        .map(|mark| circle(mark.at, radius + radius / 6));
    let view = circles.fold(bounds, |view, circle| view.with(&circle));
    let by_height =
        i64::from(view.width()) * i64::from(space.height) / i64::from(view.height().max(1));
    let print_width = i64::from(space.width).min(by_height);
    Layout {
        view,
        print_width: i32::try_from(print_width).unwrap_or(space.width).max(1),
        radius,
        marks,
    }
}

fn circle([x, y]: [i32; 2], radius: i32) -> Area {
    Area {
        left: x,
        top: y,
        right: x,
        bottom: y,
    }
    .grown(radius)
}

/// The surroundings of an area: enough of the figure to see where it is, with the proportions of the space.
fn around(area: &Area, full: &Area, space: PrintSpace) -> Area {
    let longer = full.width().max(full.height());
    let mut wanted = area.grown(longer / 14);
    let least = longer * 2 / 5;
    widen(&mut wanted.left, &mut wanted.right, least);
    widen(
        &mut wanted.top,
        &mut wanted.bottom,
        least * space.height / space.width,
    );
    let high = wanted.width() * space.height / space.width;
    let wide = wanted.height() * space.width / space.height;
    widen(&mut wanted.top, &mut wanted.bottom, high);
    widen(&mut wanted.left, &mut wanted.right, wide);
    move_inside(&mut wanted.left, &mut wanted.right, full.left, full.right);
    move_inside(&mut wanted.top, &mut wanted.bottom, full.top, full.bottom);
    wanted.with(area)
}

/// Widens a span around its middle to a least length.
fn widen(from: &mut i32, to: &mut i32, least: i32) {
    let missing = (least - (*to - *from)).max(0);
    *from -= missing / 2;
    *to += missing - missing / 2;
}

/// Moves a span into another one, and shortens it if it is longer.
fn move_inside(from: &mut i32, to: &mut i32, least: i32, most: i32) {
    let shift = (least - *from).max(0) - (*to - most).max(0);
    (*from, *to) = (*from + shift, *to + shift);
    (*from, *to) = ((*from).max(least), (*to).min(most));
}

/// The best of many places for a number beside its part.
fn beside(part: &Numbered, bounds: &Area, taken: &[Area], marks: &[Mark], radius: i32) -> Mark {
    const DIRECTIONS: i32 = 24;
    let own: Vec<Area> = part.places.iter().map(|place| place.area).collect();
    let mut best: Option<(i64, Mark)> = None;
    for place in &part.places {
        for direction in 0..DIRECTIONS {
            let angle = f64::from(direction) / f64::from(DIRECTIONS) * std::f64::consts::TAU;
            for distance in [radius * 5 / 3, radius * 5 / 2, radius * 4] {
                let at = outside(&place.area, angle, distance);
                let mark = Mark {
                    number: part.number,
                    at,
                    end: end_of_line(part, at, radius),
                };
                let cost = cost_of(&mark, bounds, &own, taken, marks, radius);
                if best.as_ref().is_none_or(|(least, _)| cost < *least) {
                    best = Some((cost, mark));
                }
            }
        }
    }
    best.map_or(
        Mark {
            number: part.number,
            at: bounds.middle(),
            end: None,
        },
        |(_, mark)| mark,
    )
}

/// What speaks against a place of a number: what it covers, how far it is away, and that it is outside.
fn cost_of(
    mark: &Mark,
    bounds: &Area,
    own: &[Area],
    taken: &[Area],
    marks: &[Mark],
    radius: i32,
) -> i64 {
    let covered = circle(mark.at, radius + radius / 3);
    let circles = marks
        .iter()
        .map(|other| circle(other.at, radius + radius / 3));
    let of_circles: i64 = circles.map(|other| covered.overlap(&other)).sum();
    let of_parts: i64 = taken.iter().map(|area| covered.overlap(area)).sum();
    let of_own: i64 = own.iter().map(|area| covered.overlap(area)).sum();
    let outside = if bounds.contains(&circle(mark.at, radius)) {
        0
    } else {
        i64::from(radius) * i64::from(radius) * 3
    };
    let far = mark.end.map_or(0, |end| distance(mark.at, end));
    of_circles * 40 + of_parts * 4 + of_own * 2 + far * i64::from(radius) / 2 + outside
}

fn distance(from: [i32; 2], to: [i32; 2]) -> i64 {
    distance_squared(from, to).isqrt()
}

fn distance_squared(from: [i32; 2], to: [i32; 2]) -> i64 {
    let (x, y) = (i64::from(to[0] - from[0]), i64::from(to[1] - from[1]));
    x * x + y * y
}

/// A point outside an area, in a direction from its middle.
fn outside(area: &Area, angle: f64, distance: i32) -> [i32; 2] {
    let (half_width, half_height) = (
        f64::from(area.width()) / 2.0,
        f64::from(area.height()) / 2.0,
    );
    let (along, up) = (angle.cos(), angle.sin());
    // How far the edge of the area is in that direction.
    let across = if along.abs() < 1e-9 {
        f64::MAX
    } else {
        half_width / along.abs()
    };
    let down = if up.abs() < 1e-9 {
        f64::MAX
    } else {
        half_height / up.abs()
    };
    let reach = across.min(down) + f64::from(distance);
    let [x, y] = area.middle();
    #[expect(
        clippy::cast_possible_truncation,
        reason = "drawings are a few thousand units wide"
    )]
    let moved = |from: i32, by: f64| from + by.round() as i32;
    [moved(x, reach * along), moved(y, reach * up)]
}

/// The point of a part that the line of its number ends at.
fn end_of_line(part: &Numbered, at: [i32; 2], radius: i32) -> Option<[i32; 2]> {
    let points = part.places.iter().flat_map(|place| place.points.iter());
    // The squares of distances are in the same order, and cost no root for each point.
    let nearest = points.min_by_key(|point| distance_squared(at, **point));
    let reach = i64::from(radius);
    nearest
        .copied()
        .filter(|point| distance_squared(at, *point) > reach * reach)
}

/// The direction in which numbers are beside each other.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Axis {
    /// In rows above and below.
    Across,
    /// In columns at the left and right.
    Down,
}

/// The numbers at two opposite sides of a figure.
struct Sides {
    marks: Vec<Mark>,
    /// The sum of the lengths of the lines. What crosses other parts counts twice.
    cost: i64,
}

impl Sides {
    fn of(bounds: &Area, parts: &[Numbered], radius: i32, axis: Axis) -> Sides {
        let step = radius * 5 / 2;
        let (from, to) = match axis {
            Axis::Across => (bounds.left, bounds.right),
            Axis::Down => (bounds.top, bounds.bottom),
        };
        let room = usize::try_from((to - from) / step + 1).unwrap_or(1).max(1);
        // The side of each part, and how much farther the other side is.
        let mut sided: Vec<(usize, bool, i32)> = Vec::new();
        for (index, part) in parts.iter().enumerate() {
            let (to_first, to_second) = reach(bounds, part, axis);
            sided.push((index, to_second < to_first, (to_first - to_second).abs()));
        }
        for is_second in [false, true] {
            let mut here: Vec<usize> = (0..sided.len())
                .filter(|index| sided[*index].1 == is_second)
                .collect();
            here.sort_by_key(|index| sided[*index].2);
            let excess = here.len().saturating_sub(room);
            for index in here.into_iter().take(excess) {
                sided[index].1 = !is_second;
            }
        }
        let mut marks: Vec<Option<Mark>> = vec![None; parts.len()];
        let mut cost = 0;
        for is_second in [false, true] {
            let mut here: Vec<(i32, usize)> = sided
                .iter()
                .filter(|side| side.1 == is_second)
                .map(|side| (along(&parts[side.0], axis), side.0))
                .collect();
            here.sort_unstable();
            let wanted: Vec<i32> = here.iter().map(|(wanted, _)| *wanted).collect();
            let places = spread(&wanted, from, to, step);
            for (place, (_, index)) in places.into_iter().zip(here) {
                let gap = radius * 3 / 2;
                let at = match (axis, is_second) {
                    (Axis::Across, false) => [place, bounds.top - gap],
                    (Axis::Across, true) => [place, bounds.bottom + gap],
                    (Axis::Down, false) => [bounds.left - gap, place],
                    (Axis::Down, true) => [bounds.right + gap, place],
                };
                let part = &parts[index];
                let end = end_of_line(part, at, radius);
                cost += end.map_or(0, |end| distance(at, end) + crossed(parts, index, at, end));
                marks[index] = Some(Mark {
                    number: part.number,
                    at,
                    end,
                });
            }
        }
        Sides {
            marks: marks.into_iter().flatten().collect(),
            cost,
        }
    }
}

/// How much of the line from a number to its part crosses other parts.
fn crossed(parts: &[Numbered], own: usize, from: [i32; 2], to: [i32; 2]) -> i64 {
    const SAMPLES: i32 = 24;
    let others = parts.iter().enumerate().filter(|(index, _)| *index != own);
    let areas: Vec<Area> = others
        .flat_map(|(_, part)| part.places.iter().map(|place| place.area))
        .collect();
    let hits = (1..SAMPLES).filter(|sample| {
        let at = |axis: usize| from[axis] + (to[axis] - from[axis]) * sample / SAMPLES;
        let point = circle([at(0), at(1)], 0);
        areas.iter().any(|area| area.contains(&point))
    });
    let hits = i64::try_from(hits.count()).unwrap_or_default();
    distance(from, to) * hits / i64::from(SAMPLES)
}

/// How far a part is from the first and from the second side.
fn reach(bounds: &Area, part: &Numbered, axis: Axis) -> (i32, i32) {
    let areas = part.places.iter().map(|place| place.area);
    let distances = areas.map(|area| match axis {
        Axis::Across => (area.top - bounds.top, bounds.bottom - area.bottom),
        Axis::Down => (area.left - bounds.left, bounds.right - area.right),
    });
    distances.fold((i32::MAX, i32::MAX), |(first, second), (one, other)| {
        (first.min(one), second.min(other))
    })
}

/// Where a number would be if it were alone: level with its part.
fn along(part: &Numbered, axis: Axis) -> i32 {
    let middle = part
        .places
        .first()
        .map_or([0, 0], |place| place.area.middle());
    match axis {
        Axis::Across => middle[0],
        Axis::Down => middle[1],
    }
}

/// Moves ascending places apart, as little as possible, so that each is at least `step` after the one before it and all are
/// between `from` and `to` if there is room.
fn spread(wanted: &[i32], from: i32, to: i32, step: i32) -> Vec<i32> {
    let mut places: Vec<i32> = Vec::with_capacity(wanted.len());
    // Groups of places that touch: the sum of where their first would like to be, their number.
    let mut groups: Vec<(i64, i64)> = Vec::new();
    for wish in wanted {
        groups.push((i64::from(*wish), 1));
        while let [.., before, last] = groups.as_slice() {
            let end_of_before = before.0 / before.1 + before.1 * i64::from(step);
            if last.0 / last.1 >= end_of_before {
                break;
            }
            let joined = (
                before.0 + last.0 - before.1 * i64::from(step) * last.1,
                before.1 + last.1,
            );
            groups.truncate(groups.len() - 2);
            groups.push(joined);
        }
    }
    for (sum, count) in groups {
        let start = i32::try_from(sum / count).unwrap_or(from);
        let count = i32::try_from(count).unwrap_or(1);
        places.extend((0..count).map(|index| start + index * step));
    }
    // Into the space: first from its beginning, then from its end.
    let mut least = from;
    for place in &mut places {
        *place = (*place).max(least);
        least = *place + step;
    }
    let mut most = to;
    for place in places.iter_mut().rev() {
        *place = (*place).min(most);
        most = *place - step;
    }
    places
}

#[cfg(test)]
mod tests;
