//! The layout of the PDFs, measured from what `mutool` draws: nothing is outside the margins, no text is too small, and
//! no box is too small for a pen.
//!
//! The least sizes are our own (for a thumb, grease and a pencil: common practice, no source). Paper sizes are those
//! of ISO 216 and ANSI/ASME Y14.1.

#![allow(clippy::unwrap_used, reason = "a failed set-up fails the test")]
#![allow(
    clippy::print_stdout,
    reason = "the paper that the sheets take is printed as a table"
)]

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
            // The steps are at least 11 pt high. Only facts, messages, tables and notices are smaller.
            let sizes: Vec<f64> = pages
                .iter()
                .flat_map(|page| page.letters.iter().map(|letter| letter.0))
                .collect();
            let body = sizes.iter().filter(|size| **size >= 10.99).count();
            assert!(
                body * 5 > sizes.len() || !path.contains("checklist"),
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
    assert!(pages.len() > 60, "{} pages", pages.len());
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
            assert!(*size >= 7.99, "{what}: text of {size} pt at {from}, {line}");
        }
        let is_tab = |[from, _, to, _]: &[f64; 4]| *from < 1.0 || *to > page.width - 1.0;
        for [from, _, to, _] in page.outlines.iter().filter(|outline| is_tab(outline)) {
            assert!(to - from < 8.0 * MM, "{what}: a tab from {from} to {to}");
        }
        for [from, above, to, below] in page.outlines.iter().filter(|outline| !is_tab(outline)) {
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
    let (left, right) = (18.0 * MM - tolerance, page.width - 11.0 * MM + tolerance);
    let (top, bottom) = (5.0 * MM, page.height - 5.0 * MM);
    assert!((page.width - width).abs() < 0.5, "{what}: {}", page.width);
    for (size, from, to, line) in &page.letters {
        assert!(
            *from > left && *to < right,
            "{what}: a letter at {from} to {to}"
        );
        assert!(*line > top && *line < bottom, "{what}: a line at {line}");
        assert!(*size >= 7.99, "{what}: text of {size} pt at {from}, {line}");
    }
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
            assert!(wide >= 4.99, "{what}: a box of {wide} mm");
            ticks += 1;
        }
    }
    ticks
}

/// What is measured of a sheet.
struct Measured {
    path: String,
    steps: usize,
    /// For each side, how much of its height is used, from 0 to 1.
    used: Vec<f64>,
}

impl Measured {
    fn sides(&self) -> usize {
        self.used.len()
    }

    /// The part of each side but the last that is empty at its foot.
    fn empty_feet(&self) -> impl Iterator<Item = f64> + '_ {
        self.used[..self.sides() - 1].iter().map(|used| 1.0 - used)
    }
}

/// The part of a page's height that is used, above its foot.
fn used(page: &Page) -> f64 {
    let (top, bottom) = (10.5 * MM, page.height - 14.5 * MM);
    let letters = page.letters.iter().map(|letter| letter.3);
    let outlines = page.outlines.iter().map(|[_, _, _, below]| *below);
    let ink = letters.chain(outlines).filter(|y| *y <= bottom + 1.0);
    (ink.fold(top, f64::max) - top) / (bottom - top)
}

fn average(values: impl Iterator<Item = f64>) -> f64 {
    let values: Vec<f64> = values.collect();
    #[expect(clippy::cast_precision_loss, reason = "there are few sheets")]
    let count = values.len().max(1) as f64;
    values.iter().sum::<f64>() / count
}

/// The paper that the demonstration's jobs take. The limits are our own: paper that nobody leafs through.
#[test]
#[expect(clippy::cast_precision_loss, reason = "there are few sheets")]
fn sheets_take_little_paper() {
    let folder = tempfile::tempdir().unwrap();
    copy(
        &root().join("procedures"),
        &folder.path().join("procedures"),
    );
    let output = benchleaf(folder.path())
        .args([
            "print",
            "--sheet",
            "bench-checklist",
            "--sheet",
            "shop-sheet",
        ])
        .args(["--output", "output"])
        .env("BENCHLEAF_TYPST", typst())
        .output()
        .unwrap();
    let (_, stderr, _) = output_text(&output);
    assert_eq!(stderr, "");
    let output = folder.path().join("output");
    for (kind, most_average, most) in [("bench-checklist", 3.0, 99), ("shop-sheet", 4.5, 7)] {
        let mut sheets = Vec::new();
        for (path, _) in files(&output) {
            let Some(name) = path.strip_suffix(&format!("-{kind}.pdf")) else {
                continue;
            };
            let html = fs::read_to_string(output.join(format!("{name}-{kind}.html"))).unwrap();
            sheets.push(Measured {
                path: name.to_owned(),
                steps: html.matches("<li id=\"step-").count(),
                used: pages(&output.join(&path)).iter().map(used).collect(),
            });
        }
        sheets.sort_by_key(|sheet| std::cmp::Reverse(sheet.sides()));
        let sides = average(sheets.iter().map(|sheet| sheet.sides() as f64));
        let empty = average(sheets.iter().flat_map(Measured::empty_feet));
        let emptiest = sheets
            .iter()
            .flat_map(Measured::empty_feet)
            .fold(0.0, f64::max);
        let several = sheets.iter().filter(|sheet| sheet.sides() > 1);
        let least_last = several
            .map(|sheet| sheet.used[sheet.sides() - 1])
            .fold(1.0, f64::min);
        println!(
            "{kind}: {} sheets, {sides:.2} sides on average",
            sheets.len()
        );
        println!(
            "  empty at the foot: {:.1} % on average, {:.0} % at most",
            empty * 100.0,
            emptiest * 100.0
        );
        println!("  last side: at least {:.0} % used", least_last * 100.0);
        for sheet in &sheets {
            let used: Vec<String> = sheet
                .used
                .iter()
                .map(|used| format!("{:.0}", used * 100.0))
                .collect();
            println!(
                "  {:2} sides, {:3} steps, used {} %: {}",
                sheet.sides(),
                sheet.steps,
                used.join(" "),
                sheet.path
            );
        }
        assert!(sheets.len() > 50, "{kind}: {} sheets", sheets.len());
        assert!(sides <= most_average, "{kind}: {sides} sides on average");
        assert!(
            empty <= 0.05 && emptiest <= 0.20,
            "{kind}: {empty} and {emptiest} of a side is empty"
        );
        assert!(
            least_last >= 0.25,
            "{kind}: {least_last} of a last side is used"
        );
        for sheet in &sheets {
            assert!(
                sheet.sides() <= most,
                "{}: {} sides",
                sheet.path,
                sheet.sides()
            );
            let of_steps = 1.0 + sheet.steps as f64 / 18.0;
            let is_list = kind == "bench-checklist";
            assert!(!is_list || sheet.steps > 0, "{}", sheet.path);
            assert!(
                !is_list || sheet.sides() as f64 <= of_steps,
                "{}: {} sides for {} steps",
                sheet.path,
                sheet.sides(),
                sheet.steps
            );
        }
    }
}

/// What a person writes or marks on a checklist: the blanks at its head, a tick, reading, choice, bag or note of a
/// step, and signatures. A choice, and a signature with its date, is one entry. The box for the place where the work
/// stopped is none: at most one of them is ticked.
fn entries(html: &str) -> usize {
    let main = html.split_once("<main").unwrap().1;
    let main = main.split_once("</main>").unwrap().0;
    let count = |what: &str| main.matches(what).count();
    let ticks = count("<i class=\"tick\">") - count("<span class=\"option\">");
    let signed = main.split("<table class=\"sign-off\">").skip(1);
    let signed = signed.map(|table| {
        let table = table.split_once("</table>").unwrap().0;
        table.matches("<tr><th scope=\"row\">").count()
    });
    count("<li data-entry=")
        + ticks
        + count("<span class=\"options\">")
        + count("<span class=\"write\">")
        + count("<span class=\"initials\">")
        + signed.sum::<usize>()
}

/// A list with too many boxes is ticked without reading. The limits are our own: one for a job that is done often, and
/// one for every job.
#[test]
fn no_checklist_asks_for_too_many_entries() {
    let folder = tempfile::tempdir().unwrap();
    copy(
        &root().join("procedures"),
        &folder.path().join("procedures"),
    );
    let output = benchleaf(folder.path())
        .args(["print", "--sheet", "bench-checklist", "--html-only"])
        .args(["--output", "output"])
        .output()
        .unwrap();
    let (_, stderr, _) = output_text(&output);
    assert_eq!(stderr, "");
    let output = folder.path().join("output");
    let mut counted: Vec<(usize, String)> = files(&output)
        .into_iter()
        .filter(|(path, _)| path.ends_with("-bench-checklist.html"))
        .map(|(path, _)| {
            let html = fs::read_to_string(output.join(&path)).unwrap();
            (entries(&html), path)
        })
        .collect();
    counted.sort();
    for (count, path) in counted.iter().rev() {
        println!("{count:3} entries: {path}");
    }
    let float_bowl = "tarn-yarrow/float-bowl-bench-checklist.html";
    let of_float_bowl = counted.iter().find(|(_, path)| path == float_bowl);
    let (count, _) = of_float_bowl.unwrap();
    assert!(
        (60..=110).contains(count),
        "{float_bowl} asks for {count} entries"
    );
    let (most, longest) = counted.last().unwrap();
    assert!(*most <= 130, "{longest} asks for {most} entries");
    let (least, shortest) = &counted[0];
    assert!(*least > 5, "{shortest} asks for {least} entries");
}
