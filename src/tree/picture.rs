//! Checks that a figure's content has the format of its extension and is complete.

/// What is wrong with the content of a figure. None if it can be printed, as far as its structure shows: its pixels
/// are not decoded.
pub(super) fn fault(path: &str, bytes: &[u8]) -> Option<&'static str> {
    let extension = path.rsplit('.').next().unwrap_or_default();
    match extension.to_ascii_lowercase().as_str() {
        "png" => png(bytes),
        "jpg" | "jpeg" => jpeg(bytes),
        _ => svg(bytes),
    }
}

const OTHER_FORMAT: Option<&str> = Some("does not match its file extension");
const DAMAGED: Option<&str> = Some("is damaged or not complete");

/// Checks the chunks (PNG, third edition, 5.3): lengths, CRCs, and that the last one is `IEND`.
fn png(bytes: &[u8]) -> Option<&'static str> {
    let Some(mut rest) = bytes.strip_prefix(b"\x89PNG\r\n\x1a\n") else {
        return OTHER_FORMAT;
    };
    loop {
        let Some((length, after)) = rest.split_first_chunk::<4>() else {
            return DAMAGED;
        };
        let length = u32::from_be_bytes(*length) as usize;
        let Some((chunk, after)) = length
            .checked_add(4)
            .and_then(|length| after.split_at_checked(length))
        else {
            return DAMAGED;
        };
        let Some((check, after)) = after.split_first_chunk::<4>() else {
            return DAMAGED;
        };
        if u32::from_be_bytes(*check) != crc(chunk) {
            return DAMAGED;
        }
        if chunk.starts_with(b"IEND") {
            return None;
        }
        rest = after;
    }
}

/// The CRC of a chunk (PNG, third edition, annex D).
fn crc(bytes: &[u8]) -> u32 {
    const TABLE: [u32; 256] = {
        let mut table = [0; 256];
        let mut index = 0;
        let mut byte = 0_u32;
        while index < 256 {
            let mut value = byte;
            let mut bit = 0;
            while bit < 8 {
                value = if value & 1 == 1 {
                    0xedb8_8320 ^ (value >> 1)
                } else {
                    value >> 1
                };
                bit += 1;
            }
            table[index] = value;
            index += 1;
            byte += 1;
        }
        table
    };
    let value = bytes.iter().fold(u32::MAX, |value, byte| {
        TABLE[usize::from(value.to_le_bytes()[0] ^ byte)] ^ (value >> 8)
    });
    !value
}

/// Checks that a JPEG (ITU-T T.81, B.1) has a frame header, a scan and an end.
fn jpeg(bytes: &[u8]) -> Option<&'static str> {
    let Some(mut rest) = bytes.strip_prefix(b"\xff\xd8") else {
        return OTHER_FORMAT;
    };
    let mut has_frame = false;
    loop {
        // Bytes of value 0xff may precede a marker.
        let [0xff, marker, after @ ..] = rest else {
            return DAMAGED;
        };
        match *marker {
            0xff => {
                rest = &rest[1..];
                continue;
            }
            0xda => {
                // Cameras append data after the end.
                let has_end = after.windows(2).any(|pair| pair == b"\xff\xd9");
                return if has_frame && has_end { None } else { DAMAGED };
            }
            // All frame headers but those of tables (0xc4, 0xcc) and the reserved 0xc8.
            0xc0..=0xcf if !matches!(marker, 0xc4 | 0xc8 | 0xcc) => has_frame = true,
            _ => {}
        }
        let Some(length) = after.first_chunk::<2>() else {
            return DAMAGED;
        };
        let Some(next) = after.get(usize::from(u16::from_be_bytes(*length)).max(2)..) else {
            return DAMAGED;
        };
        rest = next;
    }
}

/// Checks that the tags of an SVG match.
fn svg(bytes: &[u8]) -> Option<&'static str> {
    let Ok(text) = std::str::from_utf8(bytes) else {
        return OTHER_FORMAT;
    };
    if !text.contains("<svg") {
        return OTHER_FORMAT;
    }
    let mut open: Vec<&str> = Vec::new();
    let mut rest = text;
    while let Some(at) = rest.find('<') {
        let tag = &rest[at..];
        let skipped = [("<!--", "-->"), ("<![CDATA[", "]]>"), ("<?", "?>")];
        let skipped = skipped.iter().find(|(start, _)| tag.starts_with(start));
        if let Some((start, end)) = skipped {
            let Some(length) = tag[start.len()..].find(end) else {
                return DAMAGED;
            };
            rest = &tag[start.len() + length + end.len()..];
            continue;
        }
        // A document type may contain tags of its own.
        if tag.starts_with("<!") {
            let end = if tag.split('>').next().is_some_and(|head| head.contains('[')) {
                tag.find("]>").map(|at| at + 2)
            } else {
                tag.find('>').map(|at| at + 1)
            };
            let Some(end) = end else {
                return DAMAGED;
            };
            rest = &tag[end..];
            continue;
        }
        let Some(end) = tag_end(tag) else {
            return DAMAGED;
        };
        let inside = &tag[1..end];
        if let Some(closed) = inside.strip_prefix('/') {
            if open.pop() != Some(closed.trim_end()) {
                return DAMAGED;
            }
        } else if !inside.ends_with('/') {
            open.extend(inside.split_whitespace().next());
        }
        rest = &tag[end + 1..];
    }
    if open.is_empty() { None } else { DAMAGED }
}

/// The position of the `>` that ends a tag. It is not in an attribute's quotes.
fn tag_end(tag: &str) -> Option<usize> {
    let mut quote = None;
    for (at, letter) in tag.char_indices() {
        match (quote, letter) {
            (None, '>') => return Some(at),
            (None, '"' | '\'') => quote = Some(letter),
            (Some(open), letter) if open == letter => quote = None,
            _ => {}
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::{crc, fault};

    fn png(parts: &[&[u8]]) -> Vec<u8> {
        let mut bytes = b"\x89PNG\r\n\x1a\n".to_vec();
        for part in parts {
            bytes.extend(u32::try_from(part.len() - 4).unwrap().to_be_bytes());
            bytes.extend(*part);
            bytes.extend(crc(part).to_be_bytes());
        }
        bytes
    }

    /// The check value of CRC-32 in the catalogue of parametrised CRC algorithms.
    #[test]
    fn crc_has_its_check_value() {
        assert_eq!(crc(b"123456789"), 0xcbf4_3926);
    }

    #[test]
    fn complete_figures_are_no_faults() {
        let svg = "<?xml version=\"1.0\"?><!DOCTYPE svg [<!ENTITY a \"b\">]><!-- < --><svg a='>'>\
                   <g ><path d=\"\"/></g ></svg>\n";
        assert_eq!(fault("a.svg", svg.as_bytes()), None);
        assert_eq!(fault("a.PNG", &png(&[b"IHDR0", b"IDAT00", b"IEND"])), None);
        let jpeg =
            b"\xff\xd8\xff\xe0\x00\x04ab\xff\xff\xc0\x00\x03a\xff\xda\x00\x02scan\xff\xd9after";
        assert_eq!(fault("a.jpeg", jpeg), None);
    }

    #[test]
    fn damaged_figures_are_faults() {
        let whole = png(&[b"IHDR0", b"IDAT00", b"IEND"]);
        let mut changed = whole.clone();
        changed[20] ^= 1;
        let damaged: &[(&str, &[u8])] = &[
            ("a.png", &whole[..whole.len() - 1]),
            ("a.png", &whole[..30]),
            ("a.png", &changed),
            ("a.jpg", b"\xff\xd8\xff\xe0\x00\x04ab"),
            ("a.jpg", b"\xff\xd8\xff\xc0\x00\x03a\xff\xda\x00\x02scan"),
            ("a.jpg", b"\xff\xd8\xff\xda\x00\x02scan\xff\xd9"),
            ("a.svg", b"<svg><g></svg>"),
            ("a.svg", b"<svg><path d=\"></svg>"),
            ("a.svg", b"<svg"),
            ("a.svg", b"<svg><!-- </svg>"),
        ];
        for (path, bytes) in damaged {
            assert_eq!(fault(path, bytes), super::DAMAGED, "{path}");
        }
        let other: &[(&str, &[u8])] = &[
            ("a.png", b"\xff\xd8\xff"),
            ("a.jpg", &whole),
            ("a.jpg", b"\x00\x00\x00\x18ftypheic"),
            ("a.svg", b"This is no drawing."),
        ];
        for (path, bytes) in other {
            assert_eq!(fault(path, bytes), super::OTHER_FORMAT, "{path}");
        }
    }
}
