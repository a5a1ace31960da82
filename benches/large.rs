//! Whole trees: what reading and judging one takes, beside the bare floor of
//! the same files walked, read and parsed by the same libraries.
//!
//! `cargo xtask large N target/large-N` makes the trees first; a size whose
//! tree is not there is left out.

#![allow(clippy::unwrap_used, reason = "a bench that can't set up has failed")]

use benchleaf::tree::Disk;
use divan::Bencher;
use rayon::prelude::*;
use std::path::{Path, PathBuf};

fn main() {
    divan::main();
}

const SIZES: [usize; 3] = [100, 1_000, 10_000];

fn tree(size: usize) -> Option<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let folder = root.join("target").join(format!("large-{size}"));
    folder.is_dir().then_some(folder)
}

/// Walks, reads and parses, and keeps nothing: TOML as a table, CommonMark as events.
fn floor(folder: &Path) -> usize {
    let files: Vec<PathBuf> = walkdir::WalkDir::new(folder)
        .into_iter()
        .filter_map(Result::ok)
        .map(walkdir::DirEntry::into_path)
        .filter(|path| path.is_file())
        .collect();
    files
        .par_iter()
        .map(|path| {
            let Ok(text) = std::fs::read_to_string(path) else {
                return 0;
            };
            match path.extension().and_then(|end| end.to_str()) {
                Some("toml") => toml::from_str::<toml::Table>(&text).unwrap().len(),
                Some("md") => {
                    let mut parts = text.splitn(3, "+++\n").skip(1);
                    let (front, prose) = (parts.next().unwrap_or(""), parts.next().unwrap_or(""));
                    let keys = toml::from_str::<toml::Table>(front).unwrap().len();
                    keys + pulldown_cmark::Parser::new(prose).count()
                }
                _ => 0,
            }
        })
        .sum()
}

#[divan::bench(args = SIZES, sample_count = 5, sample_size = 1)]
fn bare_floor(bencher: Bencher, size: usize) {
    if let Some(folder) = tree(size) {
        bencher.bench(|| floor(&folder));
    }
}

#[divan::bench(args = SIZES, sample_count = 5, sample_size = 1)]
fn read(bencher: Bencher, size: usize) {
    if let Some(folder) = tree(size) {
        bencher.bench(|| benchleaf::read(&Disk::open(&folder).unwrap()));
    }
}

#[divan::bench(args = SIZES, sample_count = 5, sample_size = 1)]
fn read_and_check(bencher: Bencher, size: usize) {
    if let Some(folder) = tree(size) {
        bencher.bench(|| {
            let sources = benchleaf::read(&Disk::open(&folder).unwrap());
            benchleaf::check_keeping(&sources, None, |_| false).rehearsed
        });
    }
}
