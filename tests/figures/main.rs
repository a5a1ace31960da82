//! Figures that the typesetter prints give no finding, and those that it refuses give one.
//!
//! Each figure is compiled by the typesetter, with the fonts and the standard of sheets, which is the outside truth.

#![allow(clippy::unwrap_used, reason = "a failed set-up fails the test")]

#[path = "../support/mod.rs"]
mod support;

mod photographs;

use benchleaf::tree::Memory;
use rayon::prelude::*;
use std::path::Path;
use std::process::Command;
use support::{files, tree, write};

/// What the check finds in a figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Found {
    Nothing,
    /// `broken-figure`. The typesetter refuses it.
    Broken,
    /// `unprintable-figure`. The typesetter refuses it.
    Unprintable,
    /// `unprintable-figure`. The typesetter accepts it, but a part of it, or all of it, is not to be seen.
    Unseen,
}
use Found::{Broken, Nothing, Unprintable, Unseen};

/// Drawings: the attributes of `svg` but its namespace, its content, and what is found.
const DRAWINGS: &[(&str, &str, Found)] = &[
    // Sizes.
    ("viewBox='0 0 40 30'", "", Nothing),
    ("", "", Nothing),
    ("width='100%' height='100%'", "", Nothing),
    ("width='100%' viewBox='0 0 40 30'", "", Nothing),
    ("width='40mm' height='30mm'", "", Nothing),
    ("width='1e9' height='1e9'", "", Nothing),
    ("width='1e-9' height='1e-9'", "", Nothing),
    ("viewBox='0 0 0 0'", "", Nothing),
    ("viewBox='a b c d'", "", Nothing),
    ("viewBox='0,0,40,30'", "", Nothing),
    ("viewBox='0 0 100 1'", "", Nothing),
    ("viewBox='0 0 1 60'", "", Nothing),
    ("width='0' height='0'", "", Unprintable),
    ("width='0mm' viewBox='0 0 40 30'", "", Unprintable),
    ("width='-40' height='30'", "", Unprintable),
    ("viewBox='0 0 1000 1'", "", Unseen),
    ("viewBox='0 0 1 1000'", "", Unseen),
    ("width='4000mm' height='1mm'", "", Unseen),
    // XML.
    ("viewBox='0 0 40 30'", "<title>刷</title>", Nothing),
    ("viewBox='0 0 40 30'", "<!-- 刷 <g> -->", Nothing),
    (
        "viewBox='0 0 40 30'",
        "<text y='9'>a &amp; b</text>",
        Nothing,
    ),
    ("viewBox='0 0 40 30'", "<text y='9'>a & b</text>", Broken),
    ("viewBox='0 0 40 30'", "<text y='9'>&nbsp;</text>", Broken),
    ("viewBox='0 0 40 30'", "<rect width=4 height=3/>", Broken),
    ("viewBox='0 0 40 30'", "<rect x='1' x='2'/>", Broken),
    ("viewBox='0 0 40 30'", "<other:page/>", Broken),
    ("viewBox='0 0 40 30'", "<use xlink:href='#a'/>", Broken),
    ("viewBox='0 0 40 30'", "<!-- a -- b -->", Broken),
    // Other files.
    (
        "viewBox='0 0 40 30'",
        "<image href='a.png' width='4' height='3'/>",
        Unprintable,
    ),
    (
        "viewBox='0 0 40 30'",
        "<image href='https://sheets.example/a.png'/>",
        Unprintable,
    ),
    (
        "viewBox='0 0 40 30' xmlns:xlink='http://www.w3.org/1999/xlink'",
        "<image xlink:href='a.png' width='4' height='3'/>",
        Unprintable,
    ),
    ("viewBox='0 0 40 30'", "<use href='other.svg#a'/>", Unseen),
    (
        "viewBox='0 0 40 30'",
        "<g id='a'/><use href='#a'/>",
        Nothing,
    ),
    (
        "viewBox='0 0 40 30'",
        "<image href='data:image/png;base64,AAAA'/>",
        Nothing,
    ),
    (
        "viewBox='0 0 40 30'",
        "<image display='none' href='a.png'/>",
        Nothing,
    ),
    (
        "viewBox='0 0 40 30'",
        "<defs><image href='a.png'/></defs>",
        Nothing,
    ),
    (
        "viewBox='0 0 40 30'",
        "<a href='https://sheets.example'><path d='M0 0h9'/></a>",
        Nothing,
    ),
    // Characters.
    (
        "viewBox='0 0 40 30'",
        "<text y='9'>⌀ 25 ± 0.1 µm → Ω, ½ of Жя, 𝒜</text>",
        Nothing,
    ),
    ("viewBox='0 0 40 30'", "<text y='9'>刷</text>", Unprintable),
    (
        "viewBox='0 0 40 30'",
        "<text y='9'>a <tspan>刷</tspan></text>",
        Unprintable,
    ),
    (
        "viewBox='0 0 40 30'",
        "<text y='9' style='fill:none'>刷</text>",
        Unprintable,
    ),
    (
        "viewBox='0 0 40 30'",
        "<text y='9' visibility='hidden'>刷</text>",
        Nothing,
    ),
    (
        "viewBox='0 0 40 30'",
        "<g style='display: none'><text y='9'>刷</text></g>",
        Nothing,
    ),
    (
        "viewBox='0 0 40 30'",
        "<defs><text y='9'>刷</text></defs>",
        Nothing,
    ),
    (
        "viewBox='0 0 40 30'",
        "<style>.a { display: none }</style><text class='a' y='9'>刷</text>",
        Nothing,
    ),
];

/// A PNG whose data is not compressed.
fn png(width: u32, height: u32, depth: u8, colour: u8, chunks: &[&[u8]]) -> Vec<u8> {
    let samples = [1, 0, 3, 1, 2, 0, 4][usize::from(colour)];
    let row = (u64::from(width) * samples * u64::from(depth)).div_ceil(8);
    let pixels = vec![0; usize::try_from((row + 1) * u64::from(height.max(1))).unwrap()];
    let mut stream = vec![0x78, 0x01];
    let blocks = pixels.chunks(0xffff);
    let last = blocks.len() - 1;
    for (index, block) in blocks.enumerate() {
        let length = u16::try_from(block.len()).unwrap();
        stream.push(u8::from(index == last));
        stream.extend(length.to_le_bytes());
        stream.extend((!length).to_le_bytes());
        stream.extend(block);
    }
    // The Adler-32 of zeros: their number in the upper half, modulo 65,521.
    let sum = u32::try_from(pixels.len() % 65_521).unwrap();
    stream.extend((sum << 16 | 1).to_be_bytes());
    png_with(width, height, depth, colour, chunks, &stream)
}

/// A PNG with some compressed data.
fn png_with(
    width: u32,
    height: u32,
    depth: u8,
    colour: u8,
    chunks: &[&[u8]],
    stream: &[u8],
) -> Vec<u8> {
    let mut header = b"IHDR".to_vec();
    header.extend(width.to_be_bytes());
    header.extend(height.to_be_bytes());
    header.extend([depth, colour, 0, 0, 0]);
    let data = [b"IDAT".as_slice(), stream].concat();
    let mut bytes = b"\x89PNG\r\n\x1a\n".to_vec();
    for chunk in [header.as_slice()]
        .into_iter()
        .chain(chunks.iter().copied())
        .chain([data.as_slice(), b"IEND"])
    {
        bytes.extend(u32::try_from(chunk.len() - 4).unwrap().to_be_bytes());
        bytes.extend(chunk);
        bytes.extend(crc(chunk).to_be_bytes());
    }
    bytes
}

fn crc(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(u32::MAX, |value, byte| {
        (0..8).fold(value ^ u32::from(*byte), |value, _| {
            (value >> 1) ^ (0xedb8_8320 * (value & 1))
        })
    })
}

/// A copy of some bytes with other bytes at an offset.
fn with(bytes: &[u8], at: usize, other: &[u8]) -> Vec<u8> {
    let mut bytes = bytes.to_vec();
    bytes[at..at + other.len()].copy_from_slice(other);
    bytes
}

/// Photographs: the name, the content, and what is found.
fn photographs() -> Vec<(String, Vec<u8>, Found)> {
    let palette = b"PLTE\0\0\0\xff\xff\xff".as_slice();
    let pngs = [
        (png(40, 30, 8, 0, &[]), Nothing),
        (png(40, 30, 1, 0, &[]), Nothing),
        (png(40, 30, 16, 2, &[]), Nothing),
        (png(40, 30, 8, 6, &[]), Nothing),
        (png(40, 30, 8, 4, &[]), Nothing),
        (png(40, 30, 1, 3, &[palette]), Nothing),
        (png(40, 30, 8, 3, &[palette, b"tRNS\0"]), Nothing),
        (png(1, 1, 8, 0, &[]), Nothing),
        (png(100, 1, 8, 0, &[]), Nothing),
        (png(2000, 1500, 8, 0, &[]), Nothing),
        (png(40, 30, 8, 3, &[]), Broken),
        (png(40, 30, 3, 0, &[]), Broken),
        (png(40, 30, 4, 2, &[]), Broken),
        (png(40, 30, 16, 3, &[palette]), Broken),
        (png(0, 30, 8, 0, &[]), Broken),
        (png(40, 0, 8, 0, &[]), Broken),
        (png_with(40, 30, 8, 0, &[], b"no data"), Broken),
        (png_with(40, 30, 8, 0, &[], b"\x78\x01"), Broken),
        (png(5000, 1, 8, 0, &[]), Unseen),
        (png(1, 5000, 8, 0, &[]), Unseen),
    ];
    let jpeg = include_bytes!("plain.jpg").as_slice();
    let frame = jpeg
        .windows(2)
        .position(|pair| pair == b"\xff\xc0")
        .unwrap();
    let jpegs = [
        (jpeg.to_vec(), Nothing),
        (include_bytes!("progressive.jpg").to_vec(), Nothing),
        (include_bytes!("four-colours.jpg").to_vec(), Nothing),
        (with(jpeg, frame, b"\xff\xc1"), Nothing),
        // Arithmetic and lossless coding, 12 bits, two colours.
        (with(jpeg, frame, b"\xff\xc9"), Unprintable),
        (with(jpeg, frame, b"\xff\xc3"), Unprintable),
        (with(jpeg, frame + 4, &[12]), Unprintable),
        (with(jpeg, frame + 9, &[2]), Unprintable),
        // A height and width of zero, and more than the typesetter reads.
        (with(jpeg, frame + 5, &[0, 0]), Broken),
        (with(jpeg, frame + 7, &[0, 0]), Broken),
        (with(jpeg, frame + 7, &[0x40, 0x01]), Unprintable),
        (jpeg[..jpeg.len() / 2].to_vec(), Broken),
    ];
    let pngs = pngs.into_iter().enumerate();
    let jpegs = jpegs.into_iter().enumerate();
    let pngs = pngs.map(|(index, (bytes, found))| (format!("photo-{index}.png"), bytes, found));
    let jpegs = jpegs.map(|(index, (bytes, found))| (format!("photo-{index}.jpg"), bytes, found));
    pngs.chain(jpegs).collect()
}

fn all() -> Vec<(String, Vec<u8>, Found)> {
    let drawings = DRAWINGS.iter().enumerate();
    let drawings = drawings.map(|(index, (attributes, content, found))| {
        let text = format!(
            "<svg xmlns='http://www.w3.org/2000/svg' {attributes}><rect width='9' height='9'/>{content}</svg>"
        );
        (format!("drawing-{index}.svg"), text.into_bytes(), *found)
    });
    drawings.chain(photographs()).collect()
}

/// What the check finds in a figure that a step shows. The finding is at the step.
fn check(name: &str, bytes: &[u8]) -> Option<&'static str> {
    let mut shop = files(&tree("hand-pump"));
    shop.push((format!("figures/{name}"), bytes.to_vec()));
    let text = format!(
        "+++\ntitle = \"Look\"\nmachines = [\"hand-pump\"]\n+++\nIt wears.\n\n## Look\n\n1. [](clean:cover)\n\n   ![The cover](../figures/{name})\n"
    );
    shop.push(("air/look.md".to_owned(), text.into_bytes()));
    let sources = benchleaf::read(&Memory::new(shop));
    let checked = benchleaf::check(&sources);
    let findings: Vec<_> = checked.findings.iter().collect();
    assert!(findings.len() < 2, "{name}: {findings:?}");
    let finding = findings.first()?;
    let span = finding.primary.as_ref().unwrap().span;
    assert!(sources.tree.text(span).contains(name), "{name}");
    assert!(
        finding
            .message
            .starts_with(&format!("figure `figures/{name}` "))
    );
    Some(finding.rule.name)
}

/// Whether the typesetter compiles a figure.
fn compiles(folder: &Path, name: &str, bytes: &[u8]) -> bool {
    write(&folder.join(name), bytes);
    let text = format!(
        "#set document(title: \"x\")\n#set text(font: (\"DejaVu Sans\", \"DejaVu Sans Mono\"))\n#image(\"{name}\", width: 20mm, alt: \"x\")\n"
    );
    let file = folder.join(format!("{name}.typ"));
    write(&file, text);
    let output = Command::new(support::typst())
        .args(["compile", "--pdf-standard", "ua-1", "--ignore-system-fonts"])
        .args(["--format", "pdf", "--font-path"])
        .arg(folder.join("fonts"))
        .arg(&file)
        .arg("-")
        .output()
        .expect("typst is installed, see `cargo xtask test`");
    output.status.success()
}

#[test]
fn the_check_finds_what_the_typesetter_refuses() {
    let folder = tempfile::tempdir().unwrap();
    let fonts = folder.path().join("fonts");
    write(&fonts.join("sans.ttf"), dejavu::sans_condensed::regular());
    write(&fonts.join("mono.ttf"), dejavu::sans_mono::regular());
    let wrong: Vec<String> = all()
        .par_iter()
        .filter_map(|(name, bytes, expected)| {
            let found = check(name, bytes);
            let rule = match expected {
                Nothing => None,
                Broken => Some("broken-figure"),
                Unprintable | Unseen => Some("unprintable-figure"),
            };
            let is_compiled = compiles(folder.path(), name, bytes);
            let is_right = found == rule && is_compiled == matches!(expected, Nothing | Unseen);
            (!is_right).then(|| {
                let shown = String::from_utf8_lossy(&bytes[..bytes.len().min(200)]);
                format!("{name}: expected {expected:?}, found {found:?}, compiled: {is_compiled}: {shown}")
            })
        })
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
