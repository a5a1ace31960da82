//! A photograph with numbered areas, published as pages and as PDF.

use super::support::{output_text, shop, typst, write};
use image::codecs::jpeg::JpegEncoder;
use image::{Rgb, RgbImage};
use std::path::{Path, PathBuf};
use std::process::Command;

#[path = "../support/program.rs"]
mod program;

/// The photograph as it is seen: a red block in the area `41 30 12 9` on a light ground.
const WIDTH: u32 = 2_400;
const HEIGHT: u32 = 1_600;

fn is_block(x: u32, y: u32) -> bool {
    let (across, down) = (x * 100 / WIDTH, y * 100 / HEIGHT);
    (41..53).contains(&across) && (30..39).contains(&down)
}

/// The photograph as a camera writes it that was held on its side: turned, with a place.
fn photograph() -> Vec<u8> {
    let stored = RgbImage::from_fn(HEIGHT, WIDTH, |column, row| {
        if is_block(WIDTH - 1 - row, column) {
            Rgb([220, 0, 0])
        } else {
            Rgb([205, 215, 220])
        }
    });
    let mut bytes = Vec::new();
    let encoder = JpegEncoder::new_with_quality(&mut bytes, 90);
    stored.write_with_encoder(encoder).unwrap();
    let mut exif =
        b"Exif\0\0MM\0*\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0\x06\0\0\0\0\0\0".to_vec();
    exif.extend(b"GPS 0 N 0 E");
    let length = u16::try_from(exif.len() + 2).unwrap().to_be_bytes();
    let segment = [b"\xff\xe1".as_slice(), &length, &exif].concat();
    bytes.splice(2..2, segment);
    bytes
}

const LEGEND: &str = r#"
title = "The pump from the front"
machines = ["hand-pump"]

[callout.cover]
number = 1
place = ["41 30 12 9"]
"#;

/// Publishes, and returns what the program prints.
fn publish(folder: &Path) -> String {
    let output = program::benchleaf(folder)
        .args(["publish", "procedures"])
        .env("BENCHLEAF_TYPST", typst())
        .output()
        .unwrap();
    let (out, err, status) = output_text(&output);
    assert_eq!(status, 0, "{out}{err}");
    out + &err
}

fn has(bytes: &[u8], text: &str) -> bool {
    let mut found = bytes.windows(text.len());
    found.any(|part| part == text.as_bytes())
}

/// The areas of red in a picture, and for each whether a dark ring is around it: left and right of its middle.
fn red_areas(picture: &RgbImage) -> Vec<bool> {
    let is_red = |x: u32, y: u32| {
        let Rgb([red, green, blue]) = *picture.get_pixel(x, y);
        red > 150 && green < 90 && blue < 90
    };
    let is_dark = |x: u32, y: u32| picture.get_pixel(x, y).0.iter().all(|part| *part < 90);
    let mut seen = vec![false; (picture.width() * picture.height()) as usize];
    let at = |x: u32, y: u32| (y * picture.width() + x) as usize;
    let mut areas = Vec::new();
    for (x, y) in (0..picture.height()).flat_map(|y| (0..picture.width()).map(move |x| (x, y))) {
        if seen[at(x, y)] || !is_red(x, y) {
            continue;
        }
        // All of the area, over the thin lines that may divide it.
        let (mut least, mut most) = ([x, y], [x, y]);
        let mut open = vec![(x, y)];
        while let Some((x, y)) = open.pop() {
            for near_y in y.saturating_sub(5)..(y + 6).min(picture.height()) {
                for near_x in x.saturating_sub(5)..(x + 6).min(picture.width()) {
                    if !seen[at(near_x, near_y)] && is_red(near_x, near_y) {
                        seen[at(near_x, near_y)] = true;
                        least = [least[0].min(near_x), least[1].min(near_y)];
                        most = [most[0].max(near_x), most[1].max(near_y)];
                        open.push((near_x, near_y));
                    }
                }
            }
        }
        let (middle, margin) = (u32::midpoint(least[1], most[1]), 6);
        if most[0] - least[0] < 12 {
            continue;
        }
        let side = |edge: u32| {
            let from = edge.saturating_sub(margin);
            (from..(edge + margin).min(picture.width())).any(|x| is_dark(x, middle))
        };
        areas.push(side(least[0]) && side(most[0]));
    }
    areas
}

/// The first page of a PDF.
fn first_page(pdf: &Path) -> RgbImage {
    let output = Command::new("pdftoppm")
        .args(["-r", "150", "-png", "-f", "1", "-l", "1", "-singlefile"])
        .arg(pdf)
        .output()
        .expect("pdftoppm is installed: see `cargo xtask test`");
    image::load_from_memory(&output.stdout).unwrap().to_rgb8()
}

#[test]
fn photograph_with_numbers_is_upright_and_small_on_pages_and_in_print() {
    let folder = shop();
    let procedures = folder.path().join("procedures");
    write(&procedures.join("figures/pump.jpg"), photograph());
    write(&procedures.join("figures/pump.toml"), LEGEND);
    let machine = procedures.join("machines/hand-pump.toml");
    let text = std::fs::read_to_string(&machine).unwrap();
    write(&machine, format!("picture = \"figures/pump.jpg\"\n{text}"));
    publish(folder.path());

    let output = folder.path().join("output");
    let figures = std::fs::read_dir(output.join("figures")).unwrap();
    let figures: Vec<PathBuf> = figures.map(|file| file.unwrap().path()).collect();
    let [figure] = figures.as_slice() else {
        panic!("{figures:?}");
    };
    let bytes = std::fs::read(figure).unwrap();
    for metadata in ["Exif", "GPS"] {
        assert!(!has(&bytes, metadata), "{metadata}");
    }
    let shown = image::load_from_memory(&bytes).unwrap().to_rgb8();
    assert_eq!(shown.dimensions(), (1_600, 1_067));
    let Rgb([red, green, _]) = *shown.get_pixel(1_600 * 47 / 100, 1_067 * 345 / 1_000);
    assert!(red > 180 && green < 60, "it is not upright");

    // The picture leads its page. Elsewhere it is loaded when it is seen.
    let name = figure.file_name().unwrap().to_str().unwrap();
    let page = |path: &str| std::fs::read_to_string(output.join(path)).unwrap();
    let image = |page: &str, up: &str| {
        let (_, after) = page
            .split_once(&format!("src=\"{up}figures/{name}\""))
            .unwrap();
        after.split_once('>').unwrap().0.to_owned()
    };
    let size = " width=\"1600\" height=\"1067\"";
    assert_eq!(
        image(&page("hand-pump/index.html"), "../"),
        format!(" alt=\"\"{size}")
    );
    assert_eq!(
        image(&page("index.html"), ""),
        format!(" alt=\"\"{size} loading=\"lazy\"")
    );
    let sheet = page("hand-pump/cover-shop-sheet.html");
    let numbered = format!("<image href=\"../figures/{name}\"");
    assert!(sheet.contains(&numbered) && sheet.contains("<g data-part=\"cover\"><ellipse"));

    // In print, the ring is around the red block, in the whole figure and in what steps touch of it.
    for pdf in ["cover-shop-sheet.pdf", "cover-bench-checklist.pdf"] {
        let pdf = output.join("hand-pump").join(pdf);
        let found = red_areas(&first_page(&pdf));
        assert!(
            found.len() > 2 && found.iter().all(|ringed| *ringed),
            "{pdf:?}: {found:?}"
        );
        let bytes = std::fs::read(&pdf).unwrap();
        assert!(!has(&bytes, "Exif") && !has(&bytes, "GPS"));
        let list = Command::new("pdfimages")
            .arg("-list")
            .arg(&pdf)
            .output()
            .unwrap();
        let list = String::from_utf8(list.stdout).unwrap();
        let sizes = list.lines().skip(2).map(|line| {
            let columns: Vec<&str> = line.split_whitespace().collect();
            (columns[3].to_owned(), columns[4].to_owned())
        });
        for size in sizes {
            assert_eq!(size, ("1241".to_owned(), "827".to_owned()));
        }
    }
}
