//! The QR code of every sheet is read from its printed page by two other programs: the library `rqrr` and `zbarimg` of
//! the `ZBar` project. Printers have at least 200 dots per inch (common practice, no source).

#![allow(clippy::unwrap_used, reason = "a failed set-up fails the test")]

#[path = "support/program.rs"]
mod program;
mod support;

use program::benchleaf;
use rayon::prelude::*;
use std::fs;
use std::path::Path;
use std::process::Command;
use support::{copy, files, output_text, root, typst};

const ADDRESS: &str = "https://sheets.elmbrook.example/workshop";

/// The side of the corner of a page that has the code, in dots: 60 mm.
const CORNER: usize = 472;

/// The top right corner of a PDF's first page as greyscale. `width` is that of the paper in dots.
fn corner(pdf: &Path, width: usize) -> Vec<u8> {
    let corner = CORNER.to_string();
    let output = Command::new("pdftoppm")
        .args(["-r", "200", "-gray", "-f", "1", "-l", "1", "-y", "0"])
        .args(["-x", &(width - CORNER).to_string()])
        .args(["-W", &corner, "-H", &corner])
        .arg(pdf)
        .output()
        .expect("pdftoppm is installed: see `cargo xtask test`");
    assert!(output.status.success(), "{output:?}");
    output.stdout
}

/// The text of the only code in a picture (a portable graymap, which is a head of three lines and a byte a dot).
///
/// The library finds no corner of a code with fewer than four dots a module, so each dot is given to it twice.
fn read_by_rqrr(picture: &[u8]) -> String {
    let head = format!("P5\n{CORNER} {CORNER}\n255\n");
    let dots = picture.strip_prefix(head.as_bytes()).expect("a graymap");
    let side = 2 * CORNER;
    let mut image = rqrr::PreparedImage::prepare_from_greyscale(side, side, |x, y| {
        dots[y / 2 * CORNER + x / 2]
    });
    let grids = image.detect_grids();
    let texts: Vec<String> = grids
        .iter()
        .filter_map(|grid| Some(grid.decode().ok()?.1))
        .collect();
    texts.join(" ")
}

fn read_by_zbar(picture: &Path) -> String {
    let output = Command::new("zbarimg")
        .args(["--quiet", "--raw", "-Sdisable", "-Sqrcode.enable"])
        .arg(picture)
        .output()
        .expect("zbarimg is installed: see `cargo xtask test`");
    String::from_utf8(output.stdout)
        .unwrap()
        .trim_end()
        .to_owned()
}

/// The content mark that a page carries.
fn mark_of(html: &str) -> String {
    let (_, rest) = html
        .split_once("data-mark=\"")
        .expect("a sheet has its mark");
    rest.split_once('"').unwrap().0.to_owned()
}

#[test]
fn every_code_is_read_by_two_readers_and_names_the_page_and_the_mark() {
    let mut read = 0;
    // The paper changes the place of a code, and the language its address, so not every language is on both.
    let all: [&str; 0] = [];
    let one = ["--machine", "tarn-bracken"];
    for (paper, width, language, selection) in [
        ("A4", 1654, "en-GB", all.as_slice()),
        ("Letter", 1700, "es", all.as_slice()),
        ("A4", 1654, "en-US", one.as_slice()),
    ] {
        let folder = tempfile::tempdir().unwrap();
        let tree = folder.path().join("procedures");
        copy(&root().join("procedures"), &tree);
        let shop = fs::read_to_string(tree.join("shop.toml")).unwrap();
        let settings = format!("language = \"{language}\"\naddress = \"{ADDRESS}\"");
        let shop = shop
            .replace("paper = \"A4\"", &format!("paper = \"{paper}\""))
            .replace("language = \"en-GB\"", &settings);
        fs::write(tree.join("shop.toml"), shop).unwrap();
        let output = benchleaf(folder.path())
            .args(["print", "--output", "output"])
            .args(selection)
            .env("BENCHLEAF_TYPST", typst())
            .output()
            .unwrap();
        let (_, stderr, _) = output_text(&output);
        assert_eq!(stderr, "");
        let output = folder.path().join("output");
        let paths: Vec<String> = files(&output)
            .into_iter()
            .filter_map(|(path, _)| path.strip_suffix(".pdf").map(str::to_owned))
            // A manual has no page.
            .filter(|path| path != "manual" && !path.ends_with("/manual"))
            .collect();
        let wrong: Vec<String> = paths
            .par_iter()
            .filter_map(|path| {
                let picture = corner(&output.join(format!("{path}.pdf")), width);
                let html = fs::read_to_string(output.join(format!("{path}.html"))).unwrap();
                let expected = format!("{ADDRESS}/{path}.html?print={}", mark_of(&html));
                let file = output.join(format!("{path}.pgm"));
                fs::write(&file, &picture).unwrap();
                let by_rqrr = read_by_rqrr(&picture);
                let by_zbar = read_by_zbar(&file);
                let is_right = by_rqrr == expected && by_zbar == expected;
                (!is_right).then(|| format!("{path}: {by_rqrr:?}, {by_zbar:?}"))
            })
            .collect();
        assert!(wrong.is_empty(), "{paper}, of {}: {wrong:#?}", paths.len());
        read += paths.len();
    }
    assert!(read > 400, "{read}");
}
