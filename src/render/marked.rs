//! Figures whose parts have numbers, as SVG: pictures for the typesetter, and shapes for the head of a page.
//!
//! Writing into a string can't fail, so its results are ignored. Everything is written here from plain shapes, so nothing of a
//! drawing can run or refer to another file.

use crate::callout::Layout;
use crate::page::Marked;
use crate::tree::{Area, Colour, PathText, Segment, Shape, Stroke};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;
use std::ops::Range;

/// How much of a colour is left of what is faint, in per cent.
const FAINT: u32 = 32;

/// The SVG of a picture, for print: the shapes of the numbered parts strong and above the others, which are faint unless all
/// of the figure is shown, and the numbers. That of a photograph has only its rings and numbers.
#[must_use]
pub(super) fn print_svg(marked: &Marked) -> String {
    let (layout, is_faint) = (&marked.layout, !marked.is_whole);
    let view = layout.view;
    let numbers: BTreeSet<u32> = marked.parts.iter().map(|part| part.number).collect();
    let groups = marked.groups.iter();
    let strong: BTreeSet<usize> = groups
        .filter(|group| numbers.contains(&group.number))
        .flat_map(|group| group.shapes.iter().cloned().flatten())
        .collect();
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"{} {} {} {}\">",
        view.left,
        view.top,
        view.width(),
        view.height()
    );
    let shapes = marked.drawing.shapes.iter().flatten().enumerate();
    let shown: Vec<(usize, &Shape)> = shapes.filter(|(_, shape)| is_in(shape, layout)).collect();
    for (index, shape) in &shown {
        if !is_faint || !strong.contains(index) {
            path(&mut svg, shape, is_faint);
        }
    }
    if is_faint {
        for (_, shape) in shown.iter().filter(|(index, _)| strong.contains(index)) {
            path(&mut svg, shape, false);
        }
    }
    for ring in marked.rings() {
        ellipse(&mut svg, ring, layout.radius);
    }
    marks(&mut svg, layout);
    svg.push_str("</svg>");
    svg
}

/// Whether a shape is in the view. An axis has no width or no height.
fn is_in(shape: &Shape, layout: &Layout) -> bool {
    shape.area.grown(1).overlap(&layout.view) > 0
}

/// The shapes of a drawing as SVG elements, for the head of a page that has some pictures of it: one group for all that
/// they show, with a group for each of their numbers. The ids of the groups are [`Marked::id`], and for a number that
/// followed by the number. `None` for a photograph.
#[must_use]
pub(super) fn shapes_svg(pictures: &[&Marked]) -> Option<String> {
    let first = pictures.first()?;
    let shapes = first.drawing.shapes.as_ref()?;
    let (id, runs) = (first.id(), runs_of(pictures));
    let full = Area {
        left: 0,
        top: 0,
        right: first.drawing.width,
        bottom: first.drawing.height,
    };
    let is_shown = |index: usize| {
        // Pictures have a white ground anyway.
        if index == 0 && runs.first().is_none_or(|(run, _)| run.start > 0) {
            let ground = shapes.first().filter(|shape| is_white(shape));
            if ground.is_some_and(|ground| ground.area.contains(&full)) {
                return false;
            }
        }
        let area = shapes.get(index).map(|shape| shape.area.grown(1));
        pictures.iter().any(|picture| {
            picture.is_whole || area.is_some_and(|area| area.overlap(&picture.layout.view) > 0)
        })
    };
    let markup = |run: Range<usize>| {
        let shown = run.filter(|index| is_shown(*index));
        page_markup(shown.filter_map(|index| shapes.get(index)))
    };
    let (mut svg, mut extra) = (format!("<g id=\"{id}\">"), String::new());
    // A run of shapes is marked where it is drawn. One inside another is drawn again.
    let mut at = 0;
    for (run, run_id) in &runs {
        let group =
            |run: &Range<usize>| format!("<g id=\"{id}{run_id}\">{}</g>", markup(run.clone()));
        if run.start >= at {
            svg.push_str(&markup(at..run.start));
            svg.push_str(&group(run));
            at = run.end;
        } else {
            extra.push_str(&group(run));
        }
    }
    svg.push_str(&markup(at..shapes.len()));
    svg.push_str("</g>");
    svg.push_str(&extra);
    // A number with several runs is a group of references to them.
    let mut several: BTreeMap<&str, String> = BTreeMap::new();
    for (_, run_id) in &runs {
        if let Some((number, _)) = run_id.split_once('.') {
            let uses = several.entry(number).or_default();
            let _ = write!(uses, "<use href=\"#{id}{run_id}\"/>");
        }
    }
    for (number, uses) in several {
        let _ = write!(svg, "<g id=\"{id}{number}\">{uses}</g>");
    }
    Some(svg)
}

fn is_white(shape: &Shape) -> bool {
    shape.stroke.is_none() && shape.fill.is_some_and(|fill| hex(fill, 100) == "#fff")
}

/// The runs of shapes of the numbers in some pictures of a drawing, each with its number, and with a point and an index if
/// the number has several. They are in the order in which they are drawn.
fn runs_of(pictures: &[&Marked]) -> Vec<(Range<usize>, String)> {
    let mut runs: BTreeMap<u32, &[Range<usize>]> = BTreeMap::new();
    for picture in pictures {
        for group in picture.groups.iter() {
            if picture.parts.iter().any(|part| part.number == group.number) {
                runs.insert(group.number, &group.shapes);
            }
        }
    }
    let mut named = Vec::new();
    for (number, shapes) in runs {
        for (index, run) in shapes.iter().enumerate() {
            let name = match shapes.len() {
                1 => number.to_string(),
                _ => format!("{number}.{index}"),
            };
            named.push((run.clone(), name));
        }
    }
    named.sort_by_key(|(run, _)| (run.start, std::cmp::Reverse(run.end)));
    named
}

/// Shapes of one look that are one path in a page.
struct Joined<'s> {
    look: ShapeLook<'s>,
    shapes: Vec<&'s Shape>,
}

/// What the attributes of a path say.
#[derive(PartialEq)]
struct ShapeLook<'s> {
    fill: Option<Colour>,
    stroke: Option<&'s Stroke>,
}

impl<'s> ShapeLook<'s> {
    fn of(shape: &'s Shape) -> ShapeLook<'s> {
        let outlines = shape.path.iter();
        let outlines = outlines.filter(|segment| matches!(segment, Segment::Move(_)));
        // One outline is filled in the same way by both rules, unless it crosses itself.
        let has_holes = outlines.count() > 1;
        ShapeLook {
            fill: shape.fill.map(|fill| Colour {
                is_even_odd: fill.is_even_odd && has_holes,
                ..fill
            }),
            stroke: shape.stroke.as_ref(),
        }
    }
}

impl Joined<'_> {
    fn is_under(&self, shape: &Shape) -> bool {
        let area = shape.area.grown(1);
        self.shapes.iter().any(|own| own.area.overlap(&area) > 0)
    }
}

/// The markup of shapes in a page. What most shapes have is in the style sheet, for all of them: see `.marked` there.
///
/// Shapes of one look are one path, if nothing that is drawn between them is under the later one, and if they do not fill
/// the same area. A line may cross another one.
fn page_markup<'s>(shapes: impl Iterator<Item = &'s Shape>) -> String {
    let mut paths: Vec<Joined<'s>> = Vec::new();
    for shape in shapes {
        let look = ShapeLook::of(shape);
        let mut same = None;
        for (index, path) in paths.iter().enumerate().rev() {
            let is_under = path.is_under(shape);
            if path.look == look && (look.fill.is_none() || !is_under) {
                same = Some(index);
                break;
            }
            if is_under {
                break;
            }
        }
        match same.and_then(|index| paths.get_mut(index)) {
            Some(path) => path.shapes.push(shape),
            None => paths.push(Joined {
                look,
                shapes: vec![shape],
            }),
        }
    }
    let mut markup = String::new();
    for path in &paths {
        page_path(&mut markup, path);
    }
    markup
}

/// The widths of lines that the style sheet has: the usual one, and those of its classes for fine lines.
const USUAL_WIDTH: i32 = 4;
const WIDTHS: [(i32, &str); 2] = [(3, "f"), (2, "g")];

/// The fills for which the style sheet has a class.
const FILLS: [(&str, &str); 4] = [
    ("#fff", "w"),
    ("#ececec", "l"),
    ("#cfcfcf", "m"),
    ("#8f8f8f", "d"),
];

fn page_path(svg: &mut String, path: &Joined<'_>) {
    let data = data(path.shapes.iter().copied());
    let _ = write!(svg, "<path d=\"{data}\"");
    let mut classes = Vec::new();
    if let Some(fill) = path.look.fill {
        let colour = hex(fill, 100);
        if let Some((_, class)) = FILLS.iter().find(|(usual, _)| *usual == colour) {
            classes.push(*class);
        } else {
            let _ = write!(svg, " fill=\"{colour}\"");
        }
        if fill.is_even_odd {
            svg.push_str(" fill-rule=\"evenodd\"");
        }
    }
    match path.look.stroke {
        None => svg.push_str(" stroke=\"none\""),
        Some(stroke) => {
            let colour = hex(stroke.colour, 100);
            if colour != "#000" {
                let _ = write!(svg, " stroke=\"{colour}\"");
            }
            if let Some((_, class)) = WIDTHS.iter().find(|(width, _)| *width == stroke.width) {
                classes.push(*class);
            } else if stroke.width != USUAL_WIDTH {
                let _ = write!(svg, " stroke-width=\"{}\"", stroke.width);
            }
            dashes(svg, &stroke.dashes);
        }
    }
    if !classes.is_empty() {
        let _ = write!(svg, " class=\"{}\"", classes.join(" "));
    }
    svg.push_str("/>");
}

/// The data of a path that draws some shapes.
fn data<'s>(shapes: impl IntoIterator<Item = &'s Shape>) -> String {
    let mut path = PathText::default();
    for shape in shapes {
        path.add(&shape.path);
    }
    path.finish()
}

fn path(svg: &mut String, shape: &Shape, is_faint: bool) {
    let left = if is_faint { FAINT } else { 100 };
    let hex = |colour: &Colour| hex(*colour, left);
    let fill = shape.fill.as_ref().map_or_else(|| "none".to_owned(), hex);
    let _ = write!(svg, "<path d=\"{}\" fill=\"{fill}\"", data([shape]));
    if shape.fill.is_some_and(|fill| fill.is_even_odd) {
        svg.push_str(" fill-rule=\"evenodd\"");
    }
    if let Some(stroke) = &shape.stroke {
        let _ = write!(
            svg,
            " stroke=\"{}\" stroke-width=\"{}\"",
            hex(&stroke.colour),
            stroke.width
        );
        if stroke.is_round {
            svg.push_str(" stroke-linecap=\"round\" stroke-linejoin=\"round\"");
        }
        dashes(svg, &stroke.dashes);
    }
    svg.push_str("/>");
}

fn dashes(svg: &mut String, dashes: &[i32]) {
    if !dashes.is_empty() {
        let dashes: Vec<String> = dashes.iter().map(i32::to_string).collect();
        let _ = write!(svg, " stroke-dasharray=\"{}\"", dashes.join(" "));
    }
}

/// A colour of which so many per cent are left, the rest being white.
fn hex(colour: Colour, left: u32) -> String {
    let mixed = |part: u8| {
        let left = u32::from(255 - part) * left / 100;
        255 - u8::try_from(left).unwrap_or(255)
    };
    let parts = [colour.red, colour.green, colour.blue].map(mixed);
    if parts.iter().all(|part| part % 17 == 0) {
        let [red, green, blue] = parts.map(|part| part / 17);
        format!("#{red:x}{green:x}{blue:x}")
    } else {
        format!("#{:02x}{:02x}{:02x}", parts[0], parts[1], parts[2])
    }
}

/// A ring around an area of a photograph: black between white, so that it is seen on any ground.
fn ellipse(svg: &mut String, area: &Area, radius: i32) {
    let [x, y] = area.middle();
    let (across, down) = (area.width() / 2, area.height() / 2);
    for (colour, width) in [("#fff", radius / 3), ("#111", radius / 8)] {
        let _ = write!(
            svg,
            "<ellipse cx=\"{x}\" cy=\"{y}\" rx=\"{across}\" ry=\"{down}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"{width}\"/>"
        );
    }
}

fn marks(svg: &mut String, layout: &Layout) {
    let radius = layout.radius;
    let line = (radius / 9).max(1);
    for mark in &layout.marks {
        let [x, y] = mark.at;
        if let Some([end_x, end_y]) = mark.end {
            let _ = write!(
                svg,
                "<path d=\"M{x} {y}L{end_x} {end_y}\" stroke=\"#fff\" stroke-width=\"{}\"/>\
                 <path d=\"M{x} {y}L{end_x} {end_y}\" stroke=\"#111\" stroke-width=\"{line}\"/>\
                 <circle cx=\"{end_x}\" cy=\"{end_y}\" r=\"{}\" fill=\"#111\"/>",
                line * 3,
                radius / 5
            );
        }
        let _ = write!(
            svg,
            "<circle cx=\"{x}\" cy=\"{y}\" r=\"{radius}\" fill=\"#fff\" stroke=\"#111\" stroke-width=\"{line}\"/>\
             <text x=\"{x}\" y=\"{}\" font-family=\"Noto Sans\" font-weight=\"bold\" font-size=\"{}\" text-anchor=\"middle\">{}</text>",
            y + radius * 45 / 100,
            font_size(mark.number, radius),
            mark.number
        );
    }
}

/// The size of a number's digits.
fn font_size(number: u32, radius: i32) -> i32 {
    if number < 100 {
        radius * 5 / 4
    } else {
        radius * 9 / 10
    }
}
