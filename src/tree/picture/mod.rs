//! Checks that a figure can be printed: that its content has the format of its extension, is complete, and can be laid
//! out.
//!
//! The headers are checked first, for limits of the typesetter and to say what is wrong. Then the figure is decoded by
//! the libraries that the typesetter uses.

use crate::cache::{Fingerprint, Memo};
use std::sync::{Arc, LazyLock};

mod decode;
mod drawing;
mod fault;
mod jpeg;
mod path;
mod photo;
mod png;
mod svg;

pub(crate) use drawing::{Area, Colour, Drawing, Place, Shape, Stroke};
pub(super) use fault::Fault;
use fault::Size;
pub(crate) use path::{PathText, Segment};
use photo::Format;
pub(crate) use photo::{MostPixels, shown};

/// The space of a figure on a sheet, in millimetres: its width and height in `templates/typst/figure.typ`.
const SPACE: Size = Size {
    width: 120.0,
    height: 70.0,
};

/// The least width and height of a figure in print, in millimetres. Common practice, no source: less is a line.
const MIN_PRINTED: f64 = 1.0;

/// What is wrong with the content of a figure. `None` if it can be printed.
pub(super) fn fault(path: &str, bytes: &[u8]) -> Option<Fault> {
    let extension = path.rsplit('.').next().unwrap_or_default();
    let extension = extension.to_ascii_lowercase();
    let upright = |format, size| Some(photo::upright(format, bytes, size));
    let size = match extension.as_str() {
        "png" => png::size(bytes).map(|size| upright(Format::Png, size)),
        "jpg" | "jpeg" => jpeg::size(bytes).map(|size| upright(Format::Jpeg, size)),
        _ => svg::size(bytes),
    };
    let size = match size {
        Ok(size) => size,
        Err(fault) => return Some(fault),
    };
    if let Some(fault) = size.and_then(too_thin) {
        return Some(fault);
    }
    let decoded = match extension.as_str() {
        "png" => decode::png(bytes),
        "jpg" | "jpeg" => decode::jpeg(bytes),
        // What was drawn can be read. Otherwise, the reader says why not.
        _ if drawing(path, bytes).is_some() => Ok(()),
        _ => decode::svg(bytes),
    };
    decoded.err()
}

/// A figure whose parts can be pointed at. `None` if it is damaged.
pub(super) fn drawing(path: &str, bytes: &[u8]) -> Option<Arc<Drawing>> {
    let Some(format) = Format::of(path) else {
        let read = || Drawing::of_svg(bytes).map(Arc::new);
        return DRAWINGS.get_or_make(&Fingerprint::of_bytes(bytes), read);
    };
    let size = match format {
        Format::Png => png::size(bytes),
        Format::Jpeg => jpeg::size(bytes),
    };
    let size = photo::upright(format, bytes, size.ok()?);
    let photograph = Drawing::of_photograph(bytes, size.width, size.height);
    Some(Arc::new(photograph))
}

/// The drawings that this process has read, by their content. The preview and the editor check all figures after a change,
/// and reading the shapes of a drawing takes much longer than hashing it.
static DRAWINGS: LazyLock<Memo<Option<Arc<Drawing>>>> = LazyLock::new(|| {
    /// The total number of shapes that are kept.
    const MOST_SHAPES: usize = 1 << 18;
    Memo::new("drawings", MOST_SHAPES, |drawing| {
        let shapes = drawing.as_ref().and_then(|drawing| drawing.shapes.as_ref());
        shapes.map_or(1, |shapes| shapes.len() + 1)
    })
});

/// A mark of a figure that changes with what is shown.
pub(super) fn content(path: &str, bytes: &[u8]) -> Fingerprint {
    let content = Fingerprint::of_bytes(bytes);
    match Format::of(path) {
        Some(_) => Fingerprint::of(&(content, photo::VERSION)),
        None => content,
    }
}

/// The height of a figure's smallest label in print, in millimetres: 9 pt.
const LABEL: f64 = 9.0 * 25.4 / 72.0;

/// The least width in print, in millimetres, at which the labels of a figure can be read. `None` if it has none, or is
/// not a drawing.
pub(super) fn least_width(path: &str, bytes: &[u8]) -> Option<f64> {
    let extension = path.rsplit('.').next().unwrap_or_default();
    if !extension.eq_ignore_ascii_case("svg") {
        return None;
    }
    svg::least_width(bytes, LABEL)
}

/// Reports a figure that is only a line when it is scaled to the space on a sheet.
fn too_thin(size: Size) -> Option<Fault> {
    let scale = (SPACE.width / size.width).min(SPACE.height / size.height);
    let (width, height) = (size.width * scale, size.height * scale);
    (width.min(height) < MIN_PRINTED).then(|| {
        let direction = if width < height { "wide" } else { "high" };
        Fault::unprintable(
            format!("would be printed less than {MIN_PRINTED} mm {direction}"),
            "crop it to the part that it has to show",
        )
    })
}

#[cfg(test)]
mod tests;
