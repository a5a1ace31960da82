//! The layout of the PDFs, measured from what `mutool` draws: nothing is outside the margins, no text is too small, and
//! no box is too small for a pen.
//!
//! The least sizes are our own (for a thumb, grease and a pencil: common practice, no source). Paper sizes are those
//! of ISO 216 and ANSI/ASME Y14.1.

#![allow(clippy::unwrap_used, reason = "a failed set-up fails the test")]

#[path = "support/program.rs"]
mod program;
mod support;

use program::benchleaf;
use std::fs;
use std::path::Path;
use std::process::Command;
use support::{copy, files, output_text, root, typst};

/// Points in a millimetre.
const MM: f64 = 72.0 / 25.4;

/// The letters and shapes of a page, in points from the top left.
#[derive(Default)]
struct Page {
    width: f64,
    height: f64,
    /// Size, left edge, right edge and baseline of each letter.
    letters: Vec<(f64, f64, f64, f64)>,
    /// Left, top, right, bottom of each shape. A box with round corners is drawn as a filled ring.
    outlines: Vec<[f64; 4]>,
}

fn attribute<'l>(line: &'l str, name: &str) -> Option<&'l str> {
    let (_, rest) = line.split_once(&format!(" {name}=\""))?;
    Some(rest.split_once('"')?.0)
}

fn numbers(text: &str) -> Vec<f64> {
    text.split(' ')
        .map(|number| number.parse().unwrap())
        .collect()
}

fn pages(pdf: &Path) -> Vec<Page> {
    let output = Command::new("mutool")
        .arg("trace")
        .arg(pdf)
        .output()
        .expect("mutool is installed: see `cargo xtask test`");
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    let mut pages: Vec<Page> = Vec::new();
    let mut transform = vec![1.0, 0.0, 0.0, 1.0, 0.0, 0.0];
    let mut size = 0.0;
    let mut is_layout = false;
    let mut outline: Option<[f64; 4]> = None;
    for line in text.lines() {
        let tag = line.trim_start();
        if let Some(given) = attribute(line, "transform") {
            transform = numbers(given);
        }
        if let Some(box_) = attribute(line, "mediabox") {
            let sides = numbers(box_);
            pages.push(Page {
                width: sides[2],
                height: sides[3],
                ..Page::default()
            });
        }
        let Some(page) = pages.last_mut() else {
            continue;
        };
        let place = |x: f64, y: f64| {
            (
                transform[0] * x + transform[2] * y + transform[4],
                transform[1] * x + transform[3] * y + transform[5],
            )
        };
        let number = |name: &str| attribute(line, name).map(|text| text.parse::<f64>().unwrap());
        if tag.starts_with("<stroke_path") || tag.starts_with("<fill_path") {
            // Shapes at another scale are part of a sign or a figure.
            is_layout = (transform[0] - 1.0).abs() < 1e-6;
            outline = None;
        } else if tag.starts_with("<span") {
            size = numbers(attribute(line, "trm").unwrap())[0] * transform[0];
        } else if tag.starts_with("<g ") {
            let (x, y) = place(number("x").unwrap(), number("y").unwrap());
            let end = x + number("adv").unwrap() * size;
            // Spaces leave no ink. Letters in a figure have the size that the shop chose.
            let is_layout = (transform[0] - 1.0).abs() < 1e-6;
            if is_layout && attribute(line, "unicode") != Some(" ") {
                page.letters.push((size, x, end, y));
            }
        } else if is_layout
            && (tag.starts_with("<moveto")
                || tag.starts_with("<lineto")
                || tag.starts_with("<curveto"))
        {
            let at = [("x", "y"), ("x1", "y1"), ("x2", "y2"), ("x3", "y3")];
            for (x, y) in at {
                if let (Some(x), Some(y)) = (number(x), number(y)) {
                    let (x, y) = place(x, y);
                    let [left, top, right, bottom] = outline.unwrap_or([x, y, x, y]);
                    outline = Some([left.min(x), top.min(y), right.max(x), bottom.max(y)]);
                }
            }
        } else if tag.starts_with("</stroke_path") || tag.starts_with("</fill_path") {
            page.outlines.extend(outline.take());
        }
    }
    assert!(!pages.is_empty(), "{}", pdf.display());
    pages
}

#[test]
fn sheets_respect_the_margins_and_least_sizes() {
    for (paper, width) in [("A4", 210.0 * MM), ("Letter", 8.5 * 72.0)] {
        let folder = tempfile::tempdir().unwrap();
        let tree = folder.path().join("procedures");
        copy(&root().join("procedures"), &tree);
        // The sheets of one machine are enough. Spanish texts are longer, so one paper size is tested with them.
        let languages = if paper == "A4" { "\"es\"" } else { "\"en-GB\"" };
        let language = format!("language = {languages}\naddress = \"https://sheets.example\"");
        let shop = fs::read_to_string(tree.join("shop.toml")).unwrap();
        let shop = shop
            .replace("paper = \"A4\"", &format!("paper = \"{paper}\""))
            .replace("language = \"en-GB\"", &language);
        fs::write(tree.join("shop.toml"), shop).unwrap();
        let output = benchleaf(folder.path())
            .args(["print", "--machine", "tarn-yarrow", "--output", "output"])
            .env("BENCHLEAF_TYPST", typst())
            .output()
            .unwrap();
        let (_, stderr, _) = output_text(&output);
        assert_eq!(stderr, "");
        let mut ticks = 0;
        for (path, _) in files(&folder.path().join("output")) {
            if Path::new(&path).extension().is_none_or(|end| end != "pdf") {
                continue;
            }
            let pages = pages(&folder.path().join("output").join(&path));
            for (index, page) in pages.iter().enumerate() {
                ticks += check_page(page, width, &format!("{paper} {path}, page {}", index + 1));
            }
            // Most letters are body text. Only notices and the like are smaller.
            let sizes: Vec<f64> = pages
                .iter()
                .flat_map(|page| page.letters.iter().map(|letter| letter.0))
                .collect();
            let body = sizes.iter().filter(|size| **size >= 10.49).count();
            assert!(
                body * 2 > sizes.len() || !(path.contains("sheet") || path.contains("checklist")),
                "{path}: {body} of {} letters",
                sizes.len()
            );
        }
        assert!(ticks > 500, "{ticks} boxes to tick");
    }
}

/// The binding is at the left edge of an odd page and at the right edge of an even one.
#[test]
fn manuals_respect_the_binding_margin_and_least_sizes() {
    let folder = tempfile::tempdir().unwrap();
    let tree = folder.path().join("procedures");
    copy(&root().join("procedures"), &tree);
    // Spanish texts are longer.
    let shop = fs::read_to_string(tree.join("shop.toml")).unwrap();
    let shop = shop.replace("language = \"en-GB\"", "language = \"es\"");
    fs::write(tree.join("shop.toml"), shop).unwrap();
    let output = benchleaf(folder.path())
        .args(["bind", "--output", "output"])
        .env("BENCHLEAF_TYPST", typst())
        .output()
        .unwrap();
    let (_, stderr, _) = output_text(&output);
    assert_eq!(stderr, "");
    let pages = pages(&folder.path().join("output/manual.pdf"));
    assert!(pages.len() > 100, "{} pages", pages.len());
    let tolerance = 1.5;
    for (index, page) in pages.iter().enumerate() {
        let (left, right) = if index % 2 == 0 {
            (19.0, 13.0)
        } else {
            (13.0, 19.0)
        };
        let (left, right) = (left * MM - tolerance, page.width - right * MM + tolerance);
        let what = format!("page {}", index + 1);
        for (size, from, to, line) in &page.letters {
            assert!(
                *from > left && *to < right,
                "{what}: a letter at {from} to {to}"
            );
            let is_high_enough = *line > 5.0 * MM && *line < page.height - 5.0 * MM;
            assert!(is_high_enough, "{what}: a line at {line}");
            assert!(*size >= 8.49, "{what}: text of {size} pt at {from}, {line}");
        }
        for [from, above, to, below] in &page.outlines {
            assert!(
                *from > left && *to < right,
                "{what}: a line from {from} to {to}"
            );
            let is_high_enough = *above > 5.0 * MM && *below < page.height - 5.0 * MM;
            assert!(is_high_enough, "{what}: a line from {above} to {below}");
        }
    }
}

/// Checks a page, and returns the number of boxes to tick.
fn check_page(page: &Page, width: f64, what: &str) -> usize {
    // A tolerance for the width of lines.
    let tolerance = 1.5;
    let (left, right) = (19.0 * MM - tolerance, page.width - 13.0 * MM + tolerance);
    let (top, bottom) = (5.0 * MM, page.height - 5.0 * MM);
    assert!((page.width - width).abs() < 0.5, "{what}: {}", page.width);
    for (size, from, to, line) in &page.letters {
        assert!(
            *from > left && *to < right,
            "{what}: a letter at {from} to {to}"
        );
        assert!(*line > top && *line < bottom, "{what}: a line at {line}");
        assert!(*size >= 8.49, "{what}: text of {size} pt at {from}, {line}");
    }
    let is_list = what.contains("checklist");
    let mut ticks = 0;
    for [from, above, to, below] in &page.outlines {
        assert!(
            *from > left && *to < right,
            "{what}: a line from {from} to {to}"
        );
        assert!(
            *above > top && *below < bottom,
            "{what}: a line from {above} to {below}"
        );
        let (wide, high) = ((to - from) / MM, (below - above) / MM);
        // A square is a box to tick.
        if wide > 2.0 && wide < 8.0 && (wide - high).abs() < 0.2 {
            assert!(wide >= 5.0, "{what}: a box of {wide} mm");
            ticks += 1;
        }
        // In a checklist, a box at the right edge of a line is for initials.
        let is_at_edge = (page.width - 13.0 * MM - to).abs() < 2.0;
        if is_list && is_at_edge && high > 6.0 && high < 9.0 && wide < 30.0 {
            assert!(
                wide >= 15.0 && high >= 8.0 - 0.1,
                "{what}: room of {wide} mm by {high} mm to initial"
            );
        }
    }
    ticks
}
