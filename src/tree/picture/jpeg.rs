//! JPEG figures.

use super::fault::{Fault, Size};

/// The most pixels in a row or column that the typesetter reads.
const MAX_SIDE: u16 = 16_384;

/// Checks that a JPEG (ITU-T T.81, B.1) has a frame header, a scan and an end.
pub(super) fn size(bytes: &[u8]) -> Result<Size, Fault> {
    let mut rest = bytes
        .strip_prefix(b"\xff\xd8")
        .ok_or_else(Fault::other_format)?;
    let mut size = None;
    loop {
        // Bytes of value 0xff may precede a marker.
        let [0xff, marker, after @ ..] = rest else {
            return Err(Fault::incomplete());
        };
        if *marker == 0xff {
            rest = &rest[1..];
            continue;
        }
        if *marker == 0xda {
            // Cameras append data after the end.
            let has_end = after.windows(2).any(|pair| pair == b"\xff\xd9");
            return size.filter(|_| has_end).ok_or_else(Fault::incomplete);
        }
        let length = after.first_chunk::<2>().ok_or_else(Fault::incomplete)?;
        let length = usize::from(u16::from_be_bytes(*length)).max(2);
        let (segment, next) = after
            .split_at_checked(length)
            .ok_or_else(Fault::incomplete)?;
        // All frame headers but those of tables (0xc4, 0xcc) and the reserved 0xc8.
        if matches!(marker, 0xc0..=0xcf if !matches!(marker, 0xc4 | 0xc8 | 0xcc)) {
            size = Some(frame(*marker, &segment[2..])?);
        }
        rest = next;
    }
}

/// Checks a frame header (ITU-T T.81, B.2.2).
fn frame(marker: u8, header: &[u8]) -> Result<Size, Fault> {
    let [precision, h0, h1, w0, w1, components, ..] = *header else {
        return Err(Fault::incomplete());
    };
    let (width, height) = (u16::from_be_bytes([w0, w1]), u16::from_be_bytes([h0, h1]));
    if width == 0 || height == 0 || components == 0 {
        return Err(Fault::incomplete());
    }
    // Baseline, extended sequential and progressive with Huffman codes (table B.1); not lossless, nor arithmetic.
    if !matches!(marker, 0xc0..=0xc2) || precision != 8 || !matches!(components, 1 | 3 | 4) {
        return Err(Fault::unprintable(
            "has a coding that can't be printed",
            "export it again as a JPEG with 8 bits a colour, or as PNG",
        ));
    }
    if width > MAX_SIDE || height > MAX_SIDE {
        return Err(Fault::unprintable(
            format!("has more than {MAX_SIDE} pixels in a row or column: {width} by {height}"),
            Fault::SCALE_DOWN,
        ));
    }
    Ok(Size {
        width: f64::from(width),
        height: f64::from(height),
    })
}

/// The picture without its metadata: without comments, and without what applications wrote but for what its colours depend
/// on. What follows its end is left out as well. `None` if it is not complete.
pub(super) fn without_metadata(bytes: &[u8]) -> Option<Vec<u8>> {
    let mut rest = bytes.strip_prefix(b"\xff\xd8")?;
    let mut kept = vec![0xff, 0xd8];
    loop {
        let [0xff, marker, after @ ..] = rest else {
            return None;
        };
        match marker {
            0xff => {
                rest = &rest[1..];
                continue;
            }
            0xd9 => {
                kept.extend([0xff, 0xd9]);
                return Some(kept);
            }
            _ => {}
        }
        let length = usize::from(u16::from_be_bytes(*after.first_chunk()?)).max(2);
        let (segment, next) = after.split_at_checked(length)?;
        if is_needed(*marker, &segment[2..]) {
            kept.extend([0xff, *marker]);
            kept.extend(segment);
        }
        rest = next;
        if *marker == 0xda {
            let (scan, next) = rest.split_at_checked(end_of_scan(rest)?)?;
            kept.extend(scan);
            rest = next;
        }
    }
}

/// Whether a segment is a part of the picture.
fn is_needed(marker: u8, data: &[u8]) -> bool {
    match marker {
        // JFIF, without a thumbnail.
        0xe0 => data.starts_with(b"JFIF\0") && data.get(12..14) == Some(&[0, 0]),
        0xe2 => data.starts_with(b"ICC_PROFILE\0"),
        0xee => data.starts_with(b"Adobe"),
        0xe1..=0xef | 0xfe => false,
        _ => true,
    }
}

/// Where the data of a scan end: at a marker that is not one of those in them (ITU-T T.81, B.1.1.2 and B.1.1.5).
fn end_of_scan(data: &[u8]) -> Option<usize> {
    let mut pairs = data.windows(2);
    pairs.position(|pair| pair[0] == 0xff && !matches!(pair[1], 0 | 0xd0..=0xd7 | 0xff))
}
