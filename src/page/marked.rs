//! A figure with numbers for its parts.

use crate::cache::Fingerprint;
use crate::callout::Layout;
use crate::tree::{Area, Drawing, PathText, Segment};
use serde::ser::SerializeMap;
use serde::{Serialize, Serializer};
use std::hash::{Hash, Hasher};
use std::ops::Range;
use std::sync::Arc;

/// What is shown of a figure that has numbers, and where they stand.
#[derive(Clone, Debug)]
pub(crate) struct Marked {
    pub(crate) drawing: Arc<Drawing>,
    pub(crate) layout: Layout,
    /// Whether all of it is shown, for reading. Otherwise it is what a step touches, and the rest of it is faint.
    pub(crate) is_whole: bool,
    /// Whether the names of its parts stand below it. Otherwise a table has them.
    pub(crate) has_legend: bool,
    /// In the order of their numbers.
    pub(crate) parts: Vec<MarkedPart>,
    /// For every number of the figure on the machine, the shapes that it is for. Empty for a photograph.
    pub(crate) groups: Arc<[ShapeGroup]>,
}

/// A part with a number.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct MarkedPart {
    pub(crate) number: u32,
    /// The id of the part, which its name in the text has as well.
    pub(crate) part: String,
    pub(crate) name: String,
    /// Its areas in a photograph, which are ringed. Empty in a drawing.
    #[serde(skip)]
    pub(crate) rings: Vec<Area>,
}

/// The shapes of a number.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(crate) struct ShapeGroup {
    pub(crate) number: u32,
    pub(crate) shapes: Vec<Range<usize>>,
}

impl Marked {
    /// Identifies what is shown among all figures of all sheets.
    #[must_use]
    pub(crate) fn key(&self) -> String {
        Fingerprint::of(self).short()
    }

    /// Whether its shapes are drawn in the page. Otherwise it is an image with numbers over it.
    #[must_use]
    pub(crate) fn is_drawn(&self) -> bool {
        self.drawing.shapes.is_some()
    }

    /// The areas that are ringed.
    pub(crate) fn rings(&self) -> impl Iterator<Item = &Area> {
        self.parts.iter().flat_map(|part| &part.rings)
    }

    /// The id of the drawing's shapes on a page: five letters and digits with 29 bits of its content, because a page has it
    /// hundreds of times.
    #[must_use]
    pub(crate) fn id(&self) -> String {
        const DIGITS: &[u8; 62] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789";
        let mut rest = u32::from_str_radix(&self.drawing.content, 16).unwrap_or_default() as usize;
        let mut id = String::new();
        for place in 0..5 {
            // The id of an SVG element begins with a letter.
            let count = if place == 0 { 52 } else { DIGITS.len() };
            id.extend(DIGITS.get(rest % count).copied().map(char::from));
            rest /= count;
        }
        id
    }
}

impl PartialEq for Marked {
    fn eq(&self, other: &Marked) -> bool {
        let parts = |marked: &Marked| {
            (
                marked.drawing.content.clone(),
                marked.layout.clone(),
                (marked.is_whole, marked.has_legend),
                marked.parts.clone(),
            )
        };
        parts(self) == parts(other) && self.groups == other.groups
    }
}

impl Eq for Marked {}

impl Hash for Marked {
    fn hash<H: Hasher>(&self, state: &mut H) {
        self.drawing.content.hash(state);
        self.layout.hash(state);
        self.is_whole.hash(state);
        self.has_legend.hash(state);
        self.parts.hash(state);
        self.groups.hash(state);
    }
}

/// A number in its circle, as templates draw it.
#[derive(Serialize)]
#[serde(rename_all = "kebab-case")]
struct DrawnMark<'m> {
    #[serde(flatten)]
    part: &'m MarkedPart,
    x: i32,
    y: i32,
    /// The line to its part, as the data of a path.
    #[serde(skip_serializing_if = "Option::is_none")]
    line: Option<String>,
    /// The ellipses around its areas in a photograph: the middle and the half axes.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    rings: Vec<[i32; 4]>,
}

fn ellipse(area: &Area) -> [i32; 4] {
    let [x, y] = area.middle();
    [x, y, area.width() / 2, area.height() / 2]
}

impl Serialize for Marked {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let view = self.layout.view;
        let marks = self.parts.iter().zip(&self.layout.marks);
        let marks: Vec<DrawnMark<'_>> = marks
            .map(|(part, mark)| DrawnMark {
                part,
                x: mark.at[0],
                y: mark.at[1],
                line: mark.end.map(|end| {
                    let mut path = PathText::default();
                    path.add(&[Segment::Move(mark.at), Segment::Line(end)]);
                    path.finish()
                }),
                rings: part.rings.iter().map(ellipse).collect(),
            })
            .collect();
        let mut map = serializer.serialize_map(None)?;
        map.serialize_entry("key", &self.key())?;
        map.serialize_entry("drawing", &self.id())?;
        map.serialize_entry("is-drawn", &self.is_drawn())?;
        map.serialize_entry("is-whole", &self.is_whole)?;
        map.serialize_entry("has-legend", &self.has_legend)?;
        map.serialize_entry("view", &[view.left, view.top, view.width(), view.height()])?;
        map.serialize_entry("size", &[self.drawing.width, self.drawing.height])?;
        map.serialize_entry("print-width", &self.layout.print_width)?;
        map.serialize_entry("radius", &self.layout.radius)?;
        map.serialize_entry("marks", &marks)?;
        map.end()
    }
}
