//! The shapes of a drawing, and where its elements are.
//!
//! A drawing passes through `usvg`, which resolves styles, references and units. What is kept of it are plain shapes: paths
//! with a colour and a width. So nothing of a drawing that reaches a page can run, or refer to another file.

use super::path::Segment;
use super::svg::check_depth;
use crate::cache::Fingerprint;
use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::Arc;
use usvg::tiny_skia_path::{PathSegment, Point, Transform};
use usvg::{Group, LineCap, LineJoin, Node, Paint};

/// The longer side of a drawing, in its units: an eighth of a millimetre where it is 100 mm wide in print.
const LONGER_SIDE: i32 = 800;

/// A rectangle in the units of a drawing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(crate) struct Area {
    pub(crate) left: i32,
    pub(crate) top: i32,
    pub(crate) right: i32,
    pub(crate) bottom: i32,
}

/// A drawing or photograph whose parts can be pointed at.
#[derive(Clone, Debug)]
pub(crate) struct Drawing {
    /// A mark that changes with the content.
    pub(crate) content: String,
    pub(crate) width: i32,
    pub(crate) height: i32,
    /// The size of an upright photograph in pixels.
    pub(crate) pixels: Option<[u32; 2]>,
    /// Its shapes, from the lowest to the uppermost. `None` if it is a photograph, or has what plain shapes can't show: text,
    /// gradients, clipped shapes, embedded pictures.
    pub(crate) shapes: Option<Vec<Shape>>,
    /// Its elements, by their ids.
    places: BTreeMap<String, Place>,
}

/// A path of one colour.
#[derive(Clone, Debug)]
pub(crate) struct Shape {
    /// Its outlines, in whole units.
    pub(crate) path: Vec<Segment>,
    pub(crate) fill: Option<Colour>,
    pub(crate) stroke: Option<Stroke>,
    pub(crate) area: Area,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Colour {
    pub(crate) red: u8,
    pub(crate) green: u8,
    pub(crate) blue: u8,
    pub(crate) is_even_odd: bool,
}

impl Colour {
    fn is_white(self) -> bool {
        [self.red, self.green, self.blue] == [u8::MAX; 3]
    }
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Stroke {
    pub(crate) colour: Colour,
    pub(crate) width: i32,
    pub(crate) dashes: Vec<i32>,
    pub(crate) is_round: bool,
}

/// An element of a drawing, or an area of a photograph.
#[derive(Clone, Debug)]
pub(crate) struct Place {
    /// The indices of its shapes. Empty for an area of a photograph.
    pub(crate) shapes: Range<usize>,
    pub(crate) area: Area,
    /// Points on its outlines, shared by all that show it.
    pub(crate) points: Arc<[[i32; 2]]>,
}

impl Area {
    pub(crate) fn width(&self) -> i32 {
        self.right - self.left
    }

    pub(crate) fn height(&self) -> i32 {
        self.bottom - self.top
    }

    pub(crate) fn middle(&self) -> [i32; 2] {
        [
            i32::midpoint(self.left, self.right),
            i32::midpoint(self.top, self.bottom),
        ]
    }

    /// The least rectangle that contains both.
    #[must_use]
    pub(crate) fn with(&self, other: &Area) -> Area {
        Area {
            left: self.left.min(other.left),
            top: self.top.min(other.top),
            right: self.right.max(other.right),
            bottom: self.bottom.max(other.bottom),
        }
    }

    /// The rectangle with a margin on each side.
    #[must_use]
    pub(crate) fn grown(&self, margin: i32) -> Area {
        Area {
            left: self.left - margin,
            top: self.top - margin,
            right: self.right + margin,
            bottom: self.bottom + margin,
        }
    }

    pub(crate) fn contains(&self, other: &Area) -> bool {
        self.left <= other.left
            && self.top <= other.top
            && self.right >= other.right
            && self.bottom >= other.bottom
    }

    /// The size of what both cover.
    pub(crate) fn overlap(&self, other: &Area) -> i64 {
        let wide = self.right.min(other.right) - self.left.max(other.left);
        let high = self.bottom.min(other.bottom) - self.top.max(other.top);
        i64::from(wide.max(0)) * i64::from(high.max(0))
    }
}

impl Drawing {
    /// Reads an SVG. `None` if it can't be drawn.
    pub(super) fn of_svg(bytes: &[u8]) -> Option<Drawing> {
        check_depth(std::str::from_utf8(bytes).ok()?).ok()?;
        let tree = usvg::Tree::from_data(bytes, &super::decode::svg_options()).ok()?;
        let size = tree.size();
        let scale = f64::from(LONGER_SIDE) / f64::from(size.width().max(size.height()));
        let mut reader = Reader {
            scale,
            shapes: Vec::new(),
            places: BTreeMap::new(),
            is_plain: !has_text(bytes),
        };
        reader.group(tree.root());
        Some(Drawing {
            content: Fingerprint::of_bytes(bytes).short(),
            width: reader.whole(size.width()),
            height: reader.whole(size.height()),
            pixels: None,
            shapes: reader.is_plain.then_some(reader.shapes),
            places: reader.places,
        })
    }

    /// A drawing without shapes, in its units.
    #[cfg(test)]
    pub(crate) fn empty(width: i32, height: i32) -> Drawing {
        Drawing {
            content: String::new(),
            width,
            height,
            pixels: None,
            shapes: Some(Vec::new()),
            places: BTreeMap::new(),
        }
    }

    /// A photograph of a size in pixels.
    pub(super) fn of_photograph(bytes: &[u8], width: f64, height: f64) -> Drawing {
        let scale = f64::from(LONGER_SIDE) / width.max(height).max(1.0);
        Drawing {
            content: Fingerprint::of_bytes(bytes).short(),
            width: rounded(width * scale),
            height: rounded(height * scale),
            pixels: Some([width, height].map(whole_pixels)),
            shapes: None,
            places: BTreeMap::new(),
        }
    }

    /// A place: the element with an id, or an area such as `41 30 12 9`. `None` if the drawing has none.
    #[must_use]
    pub(crate) fn place(&self, name: &str) -> Option<Place> {
        self.places.get(name).cloned().or_else(|| self.area(name))
    }

    /// The ids of all elements.
    pub(crate) fn ids(&self) -> impl Iterator<Item = &str> {
        self.places.keys().map(String::as_str)
    }

    /// An area in per cent of the width and the height.
    fn area(&self, text: &str) -> Option<Place> {
        let numbers = text.split_whitespace().map(str::parse);
        let numbers: Vec<f64> = numbers.collect::<Result<_, _>>().ok()?;
        let [left, top, width, height] = numbers.try_into().ok()?;
        let is_inside = left >= 0.0
            && top >= 0.0
            && width > 0.0
            && height > 0.0
            && left + width <= 100.0
            && top + height <= 100.0;
        if !is_inside {
            return None;
        }
        let across = |part: f64| rounded(part / 100.0 * f64::from(self.width));
        let down = |part: f64| rounded(part / 100.0 * f64::from(self.height));
        let area = Area {
            left: across(left),
            top: down(top),
            right: across(left + width),
            bottom: down(top + height),
        };
        let [x, y] = area.middle();
        // The middles of the sides are on the ring that is drawn around the area.
        let points = [
            [x, area.top],
            [area.right, y],
            [x, area.bottom],
            [area.left, y],
        ];
        Some(Place {
            shapes: 0..0,
            area,
            points: points.into(),
        })
    }
}

/// Whether a drawing has text, which is not drawn here: its letters would depend on fonts.
fn has_text(bytes: &[u8]) -> bool {
    let text = std::str::from_utf8(bytes).unwrap_or_default();
    text.contains("<text") || text.contains(":text")
}

/// Reads the shapes of a tree, from the lowest to the uppermost.
struct Reader {
    /// The units of the drawing in one of the SVG's.
    scale: f64,
    shapes: Vec<Shape>,
    places: BTreeMap<String, Place>,
    is_plain: bool,
}

impl Reader {
    fn group(&mut self, group: &Group) {
        if group.should_isolate() {
            self.is_plain = false;
        }
        let first = self.shapes.len();
        for node in group.children() {
            match node {
                Node::Group(inner) => self.group(inner),
                Node::Path(path) => self.path(path),
                Node::Image(_) | Node::Text(_) => self.is_plain = false,
            }
        }
        self.add_place(group.id(), first);
    }

    /// The shapes since `first` are an element with an id.
    fn add_place(&mut self, id: &str, first: usize) {
        let shapes = first..self.shapes.len();
        let mut areas = self.shapes[shapes.clone()].iter().map(|shape| shape.area);
        let Some(area) = areas.next().filter(|_| !id.is_empty()) else {
            return;
        };
        let area = areas.fold(area, |all, area| all.with(&area));
        let paths = self.shapes[shapes.clone()].iter();
        let segments = paths.flat_map(|shape| &shape.path);
        let points = segments.filter_map(|segment| segment.end()).collect();
        let place = Place {
            shapes,
            area,
            points,
        };
        self.places.insert(id.to_owned(), place);
    }

    fn path(&mut self, path: &usvg::Path) {
        if !path.is_visible() {
            return;
        }
        let first = self.shapes.len();
        let transform = path.abs_transform();
        let (across, down) = transform.get_scale();
        let widening = f64::from(across.abs().max(down.abs())) * self.scale;
        let fill = path.fill().and_then(|fill| {
            let is_even_odd = fill.rule() == usvg::FillRule::EvenOdd;
            self.colour(fill.paint(), fill.opacity().get(), is_even_odd)
        });
        let stroke = path.stroke().and_then(|stroke| {
            let colour = self.colour(stroke.paint(), stroke.opacity().get(), false)?;
            let dashes = stroke.dasharray().unwrap_or_default().iter();
            Some(Stroke {
                colour,
                width: rounded(f64::from(stroke.width().get()) * widening).max(1),
                dashes: dashes
                    .map(|dash| rounded(f64::from(*dash) * widening))
                    .collect(),
                is_round: stroke.linecap() == LineCap::Round
                    || stroke.linejoin() == LineJoin::Round,
            })
        });
        if fill.is_none() && stroke.is_none() {
            return;
        }
        let bounds = path.abs_stroke_bounding_box();
        // Pages and paper are white without it.
        let is_white = fill.is_some_and(Colour::is_white) && stroke.is_none();
        if is_white && self.shapes.is_empty() && path.id().is_empty() {
            return;
        }
        self.shapes.push(Shape {
            path: self.outlines(path.data().segments(), transform),
            fill,
            stroke,
            area: Area {
                left: self.whole(bounds.left()),
                top: self.whole(bounds.top()),
                right: self.whole(bounds.right()),
                bottom: self.whole(bounds.bottom()),
            },
        });
        self.add_place(path.id(), first);
    }

    /// A colour, mixed with white by its opacity, so that what lies below does not show through.
    fn colour(&mut self, paint: &Paint, opacity: f32, is_even_odd: bool) -> Option<Colour> {
        let Paint::Color(colour) = paint else {
            self.is_plain = false;
            return None;
        };
        if opacity <= 0.0 {
            return None;
        }
        let mixed = |part: u8| {
            let mixed = 255.0 - (255.0 - f32::from(part)) * opacity;
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "it is between 0 and 255"
            )]
            let whole = mixed.round().clamp(0.0, 255.0) as u8;
            whole
        };
        Some(Colour {
            red: mixed(colour.red),
            green: mixed(colour.green),
            blue: mixed(colour.blue),
            is_even_odd,
        })
    }

    fn whole(&self, length: f32) -> i32 {
        rounded(f64::from(length) * self.scale)
    }

    fn outlines(
        &self,
        segments: impl Iterator<Item = PathSegment>,
        transform: Transform,
    ) -> Vec<Segment> {
        let place = |mut point: Point| {
            transform.map_point(&mut point);
            [self.whole(point.x), self.whole(point.y)]
        };
        let whole = |segment| match segment {
            PathSegment::MoveTo(to) => Segment::Move(place(to)),
            PathSegment::LineTo(to) => Segment::Line(place(to)),
            PathSegment::QuadTo(by, to) => Segment::Quadratic([by, to].map(place)),
            PathSegment::CubicTo(by, then, to) => Segment::Cubic([by, then, to].map(place)),
            PathSegment::Close => Segment::Close,
        };
        segments.map(whole).collect()
    }
}

fn whole_pixels(length: f64) -> u32 {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "it was read as a whole number"
    )]
    let whole = length as u32;
    whole
}

/// A length as a whole number of units. What is far outside any drawing is moved to its edge.
fn rounded(length: f64) -> i32 {
    let far = f64::from(LONGER_SIDE) * 100.0;
    #[expect(clippy::cast_possible_truncation, reason = "it is clamped")]
    let whole = length.round().clamp(-far, far) as i32;
    whole
}
