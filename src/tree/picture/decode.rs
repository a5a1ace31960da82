//! Decodes figures with the libraries that the typesetter uses, and with the same settings, so that it refuses no figure
//! that is accepted here.

use super::fault::Fault;
use crate::cache::Fingerprint;
use image::codecs::jpeg::JpegDecoder;
use image::codecs::png::PngDecoder;
use image::{DynamicImage, ImageDecoder, ImageResult, Limits};
use std::collections::BTreeSet;
use std::io::Cursor;
use std::sync::{Mutex, PoisonError};

/// The contents of figures that were decoded without an error. The preview checks all figures whenever a source is
/// saved, and decoding a photograph takes much longer than hashing it.
static SOUND: Mutex<BTreeSet<Fingerprint>> = Mutex::new(BTreeSet::new());

/// Calls `decode` unless this process has decoded the same content before.
fn once(bytes: &[u8], decode: impl FnOnce() -> Result<(), Fault>) -> Result<(), Fault> {
    let sound = || SOUND.lock().unwrap_or_else(PoisonError::into_inner);
    let content = Fingerprint::of_bytes(bytes);
    if sound().contains(&content) {
        return Ok(());
    }
    decode()?;
    sound().insert(content);
    Ok(())
}

/// Decodes a PNG.
pub(super) fn png(bytes: &[u8]) -> Result<(), Fault> {
    once(bytes, || pixels(PngDecoder::new(Cursor::new(bytes))))
}

/// Decodes a JPEG.
pub(super) fn jpeg(bytes: &[u8]) -> Result<(), Fault> {
    once(bytes, || pixels(JpegDecoder::new(Cursor::new(bytes))))
}

fn pixels(decoder: ImageResult<impl ImageDecoder>) -> Result<(), Fault> {
    let decode = || {
        let mut decoder = decoder?;
        decoder.set_limits(Limits::default())?;
        DynamicImage::from_decoder(decoder)
    };
    match decode() {
        Ok(_) => Ok(()),
        Err(image::ImageError::Limits(_)) => Err(Fault::too_large()),
        Err(_) => Err(Fault::incomplete()),
    }
}

/// How drawings are read: without other files.
pub(super) fn svg_options() -> usvg::Options<'static> {
    usvg::Options {
        resources_dir: None,
        image_href_resolver: usvg::ImageHrefResolver {
            resolve_data: usvg::ImageHrefResolver::default_data_resolver(),
            resolve_string: Box::new(|_, _| None),
        },
        ..usvg::Options::default()
    }
}

/// Reads a drawing, without its text: characters are checked by themselves.
pub(super) fn svg(bytes: &[u8]) -> Result<(), Fault> {
    match usvg::Tree::from_data(bytes, &svg_options()) {
        Ok(_) => Ok(()),
        Err(usvg::Error::InvalidSize) => Err(Fault::without_size()),
        Err(usvg::Error::ElementsLimitReached) => Err(Fault::unprintable(
            "has too many parts to be printed",
            "leave out what can't be seen, and export it again",
        )),
        Err(error) => Err(Fault::damaged(format!("can't be drawn: {error}"))),
    }
}
