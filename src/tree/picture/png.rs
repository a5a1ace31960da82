//! PNG figures.

use super::fault::{Fault, Size};

/// The largest size of a picture after decoding, in bytes: the limit of the library that decodes it. A photograph of 100
/// million pixels has three fifths of it.
const MAX_DECODED: u64 = 512 << 20;

/// The signature (PNG, third edition, 5.2).
const SIGNATURE: &[u8] = b"\x89PNG\r\n\x1a\n";

/// Checks the chunks (PNG, third edition, 5.3 and 5.6): lengths, CRCs, and that those that are required are there.
pub(super) fn size(bytes: &[u8]) -> Result<Size, Fault> {
    let mut rest = bytes
        .strip_prefix(SIGNATURE)
        .ok_or_else(Fault::other_format)?;
    let mut header = None;
    let (mut has_palette, mut has_transparency, mut has_data) = (false, false, false);
    loop {
        let (kind, data, after) = chunk(rest).ok_or_else(Fault::incomplete)?;
        match (kind, &header) {
            (b"IHDR", None) => header = Some(Header::read(data).ok_or_else(Fault::incomplete)?),
            (_, None) => return Err(Fault::incomplete()),
            (b"PLTE", _) => {
                if data.is_empty() || data.len() % 3 != 0 {
                    return Err(Fault::incomplete());
                }
                has_palette = true;
            }
            (b"tRNS", _) => has_transparency = true,
            (b"IDAT", Some(header)) => {
                if header.colour == Colour::Palette && !has_palette {
                    return Err(Fault::incomplete());
                }
                has_data = true;
            }
            (b"IEND", Some(header)) => {
                if !has_data {
                    return Err(Fault::incomplete());
                }
                return header.size(has_transparency);
            }
            _ => {}
        }
        rest = after;
    }
}

/// The chunks that a picture's pixels depend on.
const NEEDED: [&[u8]; 11] = [
    b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"cHRM", b"gAMA", b"iCCP", b"sBIT", b"sRGB",
    b"cICP",
];

/// The picture without its metadata, and without what follows its end. `None` if it is not complete.
pub(super) fn without_metadata(bytes: &[u8]) -> Option<Vec<u8>> {
    let mut rest = bytes.strip_prefix(SIGNATURE)?;
    let mut kept = SIGNATURE.to_vec();
    loop {
        let (kind, _, after) = chunk(rest)?;
        if NEEDED.contains(&kind) {
            kept.extend(&rest[..rest.len() - after.len()]);
        }
        if kind == b"IEND" {
            return Some(kept);
        }
        rest = after;
    }
}

/// The type and data of the first chunk, and what follows it. `None` if it is not complete or its CRC is wrong.
fn chunk(bytes: &[u8]) -> Option<(&[u8], &[u8], &[u8])> {
    let (length, after) = bytes.split_first_chunk::<4>()?;
    let length = u32::from_be_bytes(*length) as usize;
    let (chunk, after) = after.split_at_checked(length.checked_add(4)?)?;
    let (check, after) = after.split_first_chunk::<4>()?;
    let (kind, data) = chunk.split_at(4);
    (u32::from_be_bytes(*check) == crc(chunk)).then_some((kind, data, after))
}

/// The colour type (PNG, third edition, table 12).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Colour {
    Grey,
    Rgb,
    Palette,
    GreyAlpha,
    Rgba,
}

/// The image header (PNG, third edition, 11.2.1).
struct Header {
    width: u32,
    height: u32,
    depth: u8,
    colour: Colour,
}

impl Header {
    /// `None` if it has values that do not exist.
    fn read(data: &[u8]) -> Option<Header> {
        let [
            w0,
            w1,
            w2,
            w3,
            h0,
            h1,
            h2,
            h3,
            depth,
            colour,
            compression,
            filter,
            interlace,
        ] = *<&[u8; 13]>::try_from(data).ok()?;
        let colour = match (colour, depth) {
            (0, 1 | 2 | 4 | 8 | 16) => Colour::Grey,
            (2, 8 | 16) => Colour::Rgb,
            (3, 1 | 2 | 4 | 8) => Colour::Palette,
            (4, 8 | 16) => Colour::GreyAlpha,
            (6, 8 | 16) => Colour::Rgba,
            _ => return None,
        };
        let (width, height) = (
            u32::from_be_bytes([w0, w1, w2, w3]),
            u32::from_be_bytes([h0, h1, h2, h3]),
        );
        let is_valid = width > 0 && height > 0 && compression == 0 && filter == 0 && interlace < 2;
        is_valid.then_some(Header {
            width,
            height,
            depth,
            colour,
        })
    }

    fn size(&self, has_transparency: bool) -> Result<Size, Fault> {
        let samples = match self.colour {
            Colour::Grey => 1,
            Colour::GreyAlpha => 2,
            Colour::Rgb | Colour::Palette => 3,
            Colour::Rgba => 4,
        } + u64::from(has_transparency);
        let bytes = samples * u64::from(self.depth.div_ceil(8));
        let pixels = u64::from(self.width) * u64::from(self.height);
        if pixels.saturating_mul(bytes) > MAX_DECODED {
            return Err(Fault::unprintable(
                format!(
                    "has more than {} MiB of pixels: {} by {}",
                    MAX_DECODED >> 20,
                    self.width,
                    self.height
                ),
                Fault::SCALE_DOWN,
            ));
        }
        Ok(Size {
            width: f64::from(self.width),
            height: f64::from(self.height),
        })
    }
}

/// The CRC of a chunk (PNG, third edition, annex D).
pub(super) fn crc(bytes: &[u8]) -> u32 {
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
