//! The figures in the work folder. Each is written when a sheet first needs it, because most PDFs of most runs are kept, and a
//! photograph is decoded to be made upright and smaller.

use super::folder::{checked_path, write};
use crate::page::{Block, Figure, visit_figures};
use crate::render::RenderError;
use crate::render::marked::print_svg;
use crate::tree::{MostPixels, shown};
use image::{ImageDecoder as _, ImageReader};
use std::collections::{BTreeMap, BTreeSet};
use std::io::Cursor;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

/// The subfolder of the work folder with the figures.
const FIGURES: &str = "tree";

/// The subfolder of the work folder with the pictures of figures that have numbers.
const MARKED: &str = "marked";

/// The figures that sheets can have. Several threads can use them at the same time.
#[derive(Debug)]
pub(super) struct PrintFigures<'t> {
    /// The work folder.
    root: PathBuf,
    /// By path in the tree.
    files: BTreeMap<&'t str, TreeFigure<'t>>,
    /// The keys of the pictures of figures with numbers that are written.
    marked: Mutex<BTreeSet<String>>,
}

#[derive(Debug)]
struct TreeFigure<'t> {
    bytes: &'t [u8],
    /// The size of the pixels in the written file, in bytes. `None` if it is not written yet.
    pixels: Mutex<Option<u64>>,
}

impl<'t> PrintFigures<'t> {
    /// # Errors
    ///
    /// If a figure's path leaves the work folder.
    pub(super) fn new(
        root: &Path,
        figures: impl Iterator<Item = (&'t str, &'t [u8])>,
    ) -> Result<PrintFigures<'t>, RenderError> {
        let mut files = BTreeMap::new();
        for (path, bytes) in figures {
            checked_path(path)?;
            let pixels = Mutex::default();
            files.insert(path, TreeFigure { bytes, pixels });
        }
        Ok(PrintFigures {
            root: root.to_owned(),
            files,
            marked: Mutex::default(),
        })
    }

    /// Writes the figures in some blocks that are not written yet, and returns the size of the pixels of all of them, in bytes.
    ///
    /// # Errors
    ///
    /// If a file can't be written.
    pub(super) fn write_used<'b>(
        &self,
        blocks: impl Iterator<Item = &'b [Block]>,
    ) -> Result<u64, RenderError> {
        let mut used = BTreeMap::new();
        let mut failed = None;
        for blocks in blocks {
            visit_figures(blocks, |figure| {
                let written = self.write_marked(figure);
                let written = written.and_then(|()| self.write_file(&figure.id.0));
                match written {
                    Ok(pixels) => _ = used.insert(figure.id.0.clone(), pixels),
                    Err(error) => failed = Some(error),
                }
            });
        }
        failed.map_or_else(|| Ok(used.values().sum()), Err)
    }

    /// Writes a figure as it is printed. The size of its pixels.
    fn write_file(&self, path: &str) -> Result<u64, RenderError> {
        let Some(figure) = self.files.get(path) else {
            return Ok(0);
        };
        // Another thread must not use a figure before it is written, so the lock is kept.
        let mut pixels = figure.pixels.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(pixels) = *pixels {
            return Ok(pixels);
        }
        let bytes = shown(path, figure.bytes, MostPixels::PRINT);
        write(&self.root.join(FIGURES).join(checked_path(path)?), &bytes)?;
        Ok(*pixels.insert(size_of_pixels(&bytes)))
    }

    /// Writes the picture of a figure with numbers.
    fn write_marked(&self, figure: &Figure) -> Result<(), RenderError> {
        let Some(marked) = &figure.marked else {
            return Ok(());
        };
        let mut written = self.marked.lock().unwrap_or_else(PoisonError::into_inner);
        let key = marked.key();
        if !written.contains(&key) {
            let path = self.root.join(MARKED).join(format!("{key}.svg"));
            write(&path, print_svg(marked).as_bytes())?;
            written.insert(key);
        }
        Ok(())
    }
}

/// The size of a figure's pixels in bytes. 0 for a drawing, and for a picture that can't be decoded: the check has
/// reported it.
fn size_of_pixels(bytes: &[u8]) -> u64 {
    let reader = ImageReader::new(Cursor::new(bytes)).with_guessed_format();
    let decoder = reader.ok().and_then(|reader| reader.into_decoder().ok());
    decoder.map_or(0, |decoder| decoder.total_bytes())
}
