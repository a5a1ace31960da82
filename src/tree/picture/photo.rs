//! Photographs as they are shown: upright, no larger than they can be seen, and without what a camera writes about the place
//! and itself.
//!
//! What needs no other pixels keeps its own: only its metadata are left out. The same content gives the same bytes.

use super::fault::Size;
use super::{jpeg, png};
use image::codecs::jpeg::{JpegDecoder, JpegEncoder};
use image::codecs::png::{CompressionType, FilterType as PngFilter, PngDecoder, PngEncoder};
use image::imageops::FilterType;
use image::metadata::Orientation;
use image::{DynamicImage, ImageDecoder, ImageEncoder, ImageResult, Limits};
use std::borrow::Cow;
use std::io::Cursor;

/// Changes when the same photograph is shown with other pixels. It is part of a photograph's mark in the output.
pub(crate) const VERSION: &str = "upright 1";

/// The quality of JPEGs, of 100. Common practice, no source: no difference to the original is seen beside it.
const QUALITY: u8 = 88;

/// The most pixels that a photograph is shown with.
#[derive(Clone, Copy, Debug)]
pub(crate) struct MostPixels {
    width: u32,
    height: u32,
}

impl MostPixels {
    /// On a page, where it can be opened large.
    pub(crate) const PAGE: MostPixels = MostPixels {
        width: 1_600,
        height: 1_600,
    };

    /// In print: 300 a 25.4 mm in the largest space of a figure, 120 mm by 70 mm. What a step touches of it is enlarged to
    /// less than that.
    pub(crate) const PRINT: MostPixels = MostPixels {
        width: 1_417,
        height: 827,
    };

    /// A size with the same proportions that has no more pixels in a row or column.
    #[must_use]
    pub(crate) fn fit(self, [width, height]: [u32; 2]) -> [u32; 2] {
        if width <= self.width && height <= self.height {
            return [width, height];
        }
        let [wide, high] = [width.max(1), height.max(1)].map(u64::from);
        let (most_wide, most_high) = (u64::from(self.width), u64::from(self.height));
        // To the nearest pixel.
        let part = |most: u64, side: u64, other: u64| (most * side + other / 2) / other;
        let size = if wide * most_high >= high * most_wide {
            [most_wide, part(most_wide, high, wide)]
        } else {
            [part(most_high, wide, high), most_high]
        };
        size.map(|side| u32::try_from(side).unwrap_or(u32::MAX).max(1))
    }
}

/// The formats of photographs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Format {
    Jpeg,
    Png,
}

impl Format {
    /// By the extension of a path. `None` for a drawing.
    pub(super) fn of(path: &str) -> Option<Format> {
        let extension = path.rsplit('.').next().unwrap_or_default();
        match extension.to_ascii_lowercase().as_str() {
            "jpg" | "jpeg" => Some(Format::Jpeg),
            "png" => Some(Format::Png),
            _ => None,
        }
    }
}

/// The size of a photograph when it is upright.
pub(super) fn upright(format: Format, bytes: &[u8], size: Size) -> Size {
    let turn = match format {
        Format::Jpeg => orientation(JpegDecoder::new(Cursor::new(bytes))),
        Format::Png => orientation(PngDecoder::new(Cursor::new(bytes))),
    };
    if is_on_its_side(turn) {
        Size {
            width: size.height,
            height: size.width,
        }
    } else {
        size
    }
}

/// How a picture has to be turned. One without a readable statement is upright.
fn orientation(decoder: ImageResult<impl ImageDecoder>) -> Orientation {
    let turn = decoder.and_then(|mut decoder| decoder.orientation());
    turn.unwrap_or(Orientation::NoTransforms)
}

fn is_on_its_side(turn: Orientation) -> bool {
    matches!(
        turn,
        Orientation::Rotate90
            | Orientation::Rotate270
            | Orientation::Rotate90FlipH
            | Orientation::Rotate270FlipH
    )
}

/// A figure as it is shown. A drawing is not changed, nor is what can't be decoded: the check has reported it.
#[must_use]
pub(crate) fn shown<'b>(path: &str, bytes: &'b [u8], most: MostPixels) -> Cow<'b, [u8]> {
    let Some(format) = Format::of(path) else {
        return Cow::Borrowed(bytes);
    };
    let made = match format {
        Format::Jpeg => made_of(format, JpegDecoder::new(Cursor::new(bytes)), bytes, most),
        Format::Png => made_of(format, PngDecoder::new(Cursor::new(bytes)), bytes, most),
    };
    made.unwrap_or(Cow::Borrowed(bytes))
}

fn made_of(
    format: Format,
    decoder: ImageResult<impl ImageDecoder>,
    bytes: &[u8],
    most: MostPixels,
) -> ImageResult<Cow<'_, [u8]>> {
    let mut decoder = decoder?;
    let turn = decoder.orientation().unwrap_or(Orientation::NoTransforms);
    let (width, height) = decoder.dimensions();
    let upright = if is_on_its_side(turn) {
        [height, width]
    } else {
        [width, height]
    };
    let size = most.fit(upright);
    if turn == Orientation::NoTransforms && size == upright {
        let bare = match format {
            Format::Jpeg => jpeg::without_metadata(bytes),
            Format::Png => png::without_metadata(bytes),
        };
        if let Some(bare) = bare {
            return Ok(if bare == bytes {
                Cow::Borrowed(bytes)
            } else {
                Cow::Owned(bare)
            });
        }
    }
    decoder.set_limits(Limits::default())?;
    let profile = decoder.icc_profile().unwrap_or_default();
    let mut picture = DynamicImage::from_decoder(decoder)?;
    // A camera's picture is made smaller first, because there is less to turn then.
    if size != upright {
        let [width, height] = if is_on_its_side(turn) {
            [size[1], size[0]]
        } else {
            size
        };
        picture = picture.resize_exact(width, height, FilterType::Lanczos3);
    }
    picture.apply_orientation(turn);
    encoded(format, &picture, profile).map(Cow::Owned)
}

/// A picture with eight bits a colour, with its colour profile if that is for its kind of colours.
fn encoded(
    format: Format,
    picture: &DynamicImage,
    profile: Option<Vec<u8>>,
) -> ImageResult<Vec<u8>> {
    let is_grey = !picture.color().has_color();
    let picture = match (
        is_grey,
        picture.color().has_alpha() && format == Format::Png,
    ) {
        (true, false) => DynamicImage::ImageLuma8(picture.to_luma8()),
        (true, true) => DynamicImage::ImageLumaA8(picture.to_luma_alpha8()),
        (false, false) => DynamicImage::ImageRgb8(picture.to_rgb8()),
        (false, true) => DynamicImage::ImageRgba8(picture.to_rgba8()),
    };
    // The colour space of a profile's data (ICC.1, 7.2.6). That of a picture in CMYK is not of the colours written here.
    let colours: &[u8] = if is_grey { b"GRAY" } else { b"RGB " };
    let profile = profile.filter(|profile| profile.get(16..20) == Some(colours));
    let mut bytes = Vec::new();
    match format {
        Format::Jpeg => write(
            JpegEncoder::new_with_quality(&mut bytes, QUALITY),
            &picture,
            profile,
        )?,
        Format::Png => write(
            PngEncoder::new_with_quality(&mut bytes, CompressionType::Default, PngFilter::Adaptive),
            &picture,
            profile,
        )?,
    }
    Ok(bytes)
}

fn write(
    mut encoder: impl ImageEncoder,
    picture: &DynamicImage,
    profile: Option<Vec<u8>>,
) -> ImageResult<()> {
    if let Some(profile) = profile {
        // Without it, colours are those of the usual profile.
        let _ = encoder.set_icc_profile(profile);
    }
    picture.write_with_encoder(encoder)
}

#[cfg(test)]
mod tests;
