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
