//! Figures that are damaged. `tests/figures` has those of other kinds, and compares with the typesetter.

use super::{fault, png};

fn png_of(chunks: &[&[u8]]) -> Vec<u8> {
    let mut bytes = b"\x89PNG\r\n\x1a\n".to_vec();
    for chunk in chunks {
        bytes.extend(u32::try_from(chunk.len() - 4).unwrap().to_be_bytes());
        bytes.extend(*chunk);
        bytes.extend(png::crc(chunk).to_be_bytes());
    }
    bytes
}

/// A PNG of 4 by 3 pixels, in grey, whose data is not compressed.
fn small_png() -> Vec<u8> {
    let data = [
        b"IDAT\x78\x01\x01\x0f\0\xf0\xff".as_slice(),
        &[0; 15],
        b"\0\x0f\0\x01",
    ]
    .concat();
    png_of(&[SMALL_HEADER, &data, b"IEND"])
}

const SMALL_HEADER: &[u8] = b"IHDR\0\0\0\x04\0\0\0\x03\x08\0\0\0\0";

/// The rule and the message of a figure's fault.
fn found(path: &str, bytes: &[u8]) -> Option<(&'static str, String)> {
    let fault = fault(path, bytes)?;
    assert!(!fault.help.is_empty());
    Some((fault.rule.name, fault.message))
}

/// The check value of CRC-32 in the catalogue of parametrised CRC algorithms.
#[test]
fn crc_has_its_check_value() {
    assert_eq!(png::crc(b"123456789"), 0xcbf4_3926);
}

#[test]
fn complete_figures_are_no_faults() {
    let svg = "<?xml version=\"1.0\"?><!DOCTYPE svg [<!ENTITY a \"b\">]><!-- < --><svg \
               xmlns='http://www.w3.org/2000/svg' a='>'><g ><path d=\"\"/></g ></svg>\n";
    assert_eq!(found("a.svg", svg.as_bytes()), None);
    assert_eq!(found("a.PNG", &small_png()), None);
    let jpeg = include_bytes!("../../../tests/figures/plain.jpg");
    let with_data_after = [jpeg.as_slice(), b"after"].concat();
    assert_eq!(found("a.jpeg", &with_data_after), None);
}

#[test]
fn damaged_figures_are_faults() {
    let whole = small_png();
    let mut changed = whole.clone();
    changed[20] ^= 1;
    let frame = b"\xff\xd8\xff\xc0\x00\x0b\x08\x00\x03\x00\x04\x01\x01\x11\x00";
    let without_end = [frame.as_slice(), b"\xff\xda\x00\x02scan"].concat();
    let no_data = png_of(&[SMALL_HEADER, b"IDATno data", b"IEND"]);
    let no_scan = [frame.as_slice(), b"\xff\xda\x00\x02scan\xff\xd9"].concat();
    let damaged: &[(&str, &[u8])] = &[
        ("a.png", &no_data),
        ("a.jpg", &no_scan),
        ("a.png", &whole[..whole.len() - 1]),
        ("a.png", &whole[..30]),
        ("a.png", &changed),
        ("a.jpg", b"\xff\xd8\xff\xe0\x00\x04ab"),
        ("a.jpg", frame),
        ("a.jpg", &without_end),
        ("a.jpg", b"\xff\xd8\xff\xda\x00\x02scan\xff\xd9"),
        ("a.jpg", b"\xff\xd8\xff\xc0\x00\x04\x08\x00"),
        ("a.svg", b"<svg><g></svg>"),
        ("a.svg", b"<svg><path d=\"></svg>"),
        ("a.svg", b"<svg"),
        ("a.svg", b"<svg><!-- </svg>"),
    ];
    for (path, bytes) in damaged {
        let (rule, message) = found(path, bytes).unwrap();
        assert_eq!(rule, "broken-figure", "{path}");
        assert!(!message.contains("extension"), "{path}: {message}");
    }
    let other: &[(&str, &[u8])] = &[
        ("a.png", b"\xff\xd8\xff"),
        ("a.jpg", &whole),
        ("a.jpg", b"\x00\x00\x00\x18ftypheic"),
        ("a.svg", b"This is no drawing."),
        ("a.svg", b"<html><svg/></html>"),
    ];
    for (path, bytes) in other {
        let (_, message) = found(path, bytes).unwrap();
        assert_eq!(message, "does not match its file extension", "{path}");
    }
}

/// Their pixels are not decoded. Those of the others are, and these figures have none.
#[test]
fn figures_with_too_many_pixels_are_faults() {
    for (header, rule) in [
        // 16,384 by 8,192 pixels with transparency are exactly the limit.
        (*b"IHDR\0\0\x40\0\0\0\x20\0\x08\x06\0\0\0", "broken-figure"),
        (
            *b"IHDR\0\0\x40\0\0\0\x20\x01\x08\x06\0\0\0",
            "unprintable-figure",
        ),
        (
            *b"IHDR\0\0\x40\0\0\0\x20\0\x10\x06\0\0\0",
            "unprintable-figure",
        ),
        (*b"IHDR\0\0\x40\0\0\0\x40\0\x10\0\0\0\0", "broken-figure"),
        (
            *b"IHDR\x7f\xff\xff\xff\x7f\xff\xff\xff\x08\0\0\0\0",
            "unprintable-figure",
        ),
    ] {
        let found = found("a.png", &png_of(&[&header, b"IDAT00", b"IEND"]));
        assert_eq!(found.map(|(rule, _)| rule), Some(rule), "{header:?}");
    }
    for (side, rule) in [
        (b"\x40\x00", "broken-figure"),
        (b"\x40\x01", "unprintable-figure"),
        (b"\xff\xff", "unprintable-figure"),
    ] {
        let jpeg = [
            b"\xff\xd8\xff\xc0\x00\x0b\x08".as_slice(),
            side,
            b"\x40\x00\x01\x01\x11\x00\xff\xda\x00\x02scan\xff\xd9",
        ];
        let found = found("a.jpg", &jpeg.concat());
        assert_eq!(found.map(|(rule, _)| rule), Some(rule), "{side:?}");
    }
}

/// A thread of a check has a small stack.
#[test]
fn deep_drawings_do_not_overflow_the_stack() {
    for (depth, is_fault) in [(1_000, false), (1_025, true), (200_000, true)] {
        let svg = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 4 3\">{}{}</svg>",
            "<g>".repeat(depth),
            "</g>".repeat(depth)
        );
        assert_eq!(
            found("a.svg", svg.as_bytes()).is_some(),
            is_fault,
            "{depth}"
        );
    }
}
