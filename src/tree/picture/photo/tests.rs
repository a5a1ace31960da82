//! Photographs are made here from a picture whose every pixel is known.

use super::super::png::crc;
use super::*;
use image::{GenericImageView, Rgb, RgbImage};

const WIDTH: u32 = 48;
const HEIGHT: u32 = 32;

/// The picture as it is seen: a block of another colour in each corner.
fn seen() -> RgbImage {
    RgbImage::from_fn(WIDTH, HEIGHT, |x, y| {
        match (x < WIDTH / 2, y < HEIGHT / 2) {
            (true, true) => Rgb([200, 30, 30]),
            (false, true) => Rgb([30, 180, 30]),
            (true, false) => Rgb([30, 30, 200]),
            (false, false) => Rgb([220, 220, 220]),
        }
    })
}

/// The picture as a camera stores it with an orientation. Exif 2.3, 4.6.4 A says which side of what is seen the first row
/// and the first column are.
fn stored(orientation: u8) -> RgbImage {
    let seen = seen();
    let is_on_its_side = orientation > 4;
    let (columns, rows) = if is_on_its_side {
        (HEIGHT, WIDTH)
    } else {
        (WIDTH, HEIGHT)
    };
    RgbImage::from_fn(columns, rows, |column, row| {
        let (right, bottom) = (WIDTH - 1, HEIGHT - 1);
        let (x, y) = match orientation {
            1 => (column, row),
            2 => (right - column, row),
            3 => (right - column, bottom - row),
            4 => (column, bottom - row),
            5 => (row, column),
            6 => (right - row, column),
            7 => (right - row, bottom - column),
            _ => (row, bottom - column),
        };
        *seen.get_pixel(x, y)
    })
}

/// An Exif block: the orientation, the camera, a place, and something that stands for a thumbnail.
fn exif(orientation: u8) -> Vec<u8> {
    let mut block = b"II*\0\x08\0\0\0\x03\0".to_vec();
    let entries: [(u16, u16, u32, u32); 3] = [
        (0x010f, 2, 12, 60),
        (0x0112, 3, 1, u32::from(orientation)),
        (0x8825, 4, 1, 80),
    ];
    for (tag, kind, count, value) in entries {
        block.extend(tag.to_le_bytes());
        block.extend(kind.to_le_bytes());
        block.extend(count.to_le_bytes());
        block.extend(value.to_le_bytes());
    }
    block.extend([0; 4]);
    block.resize(60, 0);
    block.extend(b"Tarn camera\0");
    block.resize(80, 0);
    block.extend(b"\x01\0\x01\0\x02\0\x02\0\0\0N\0\0\0\0\0\0\0GPS-PLACE THUMBNAIL");
    block
}

fn png(picture: &RgbImage, exif: Option<&[u8]>) -> Vec<u8> {
    let mut bytes = Vec::new();
    picture
        .write_with_encoder(PngEncoder::new(&mut bytes))
        .unwrap();
    let chunk = |kind: &[u8], data: &[u8]| {
        let content = [kind, data].concat();
        let length = u32::try_from(data.len()).unwrap().to_be_bytes();
        [&length, content.as_slice(), &crc(&content).to_be_bytes()].concat()
    };
    if let Some(exif) = exif {
        let more = [chunk(b"eXIf", exif), chunk(b"tEXt", b"Comment\0GPS-PLACE")];
        // After the signature and the header.
        bytes.splice(33..33, more.concat());
        bytes.extend(b"GPS-PLACE after the end");
    }
    bytes
}

fn jpeg_of(picture: &RgbImage, exif: Option<&[u8]>) -> Vec<u8> {
    let mut bytes = Vec::new();
    let encoder = JpegEncoder::new_with_quality(&mut bytes, 95);
    picture.write_with_encoder(encoder).unwrap();
    if let Some(exif) = exif {
        let segment = |marker: u8, data: &[u8]| {
            let length = u16::try_from(data.len() + 2).unwrap().to_be_bytes();
            [&[0xff, marker], length.as_slice(), data].concat()
        };
        let more = [
            segment(0xe1, &[b"Exif\0\0", exif].concat()),
            segment(0xfe, b"GPS-PLACE in a comment"),
        ];
        bytes.splice(2..2, more.concat());
        bytes.extend(b"GPS-PLACE after the end");
    }
    bytes
}

fn decoded(bytes: &[u8]) -> RgbImage {
    image::load_from_memory(bytes).unwrap().to_rgb8()
}

fn assert_bare(bytes: &[u8], what: &str) {
    for metadata in ["Exif", "eXIf", "tEXt", "GPS", "Tarn camera", "THUMBNAIL"] {
        let found = bytes.windows(metadata.len());
        let count = found.filter(|part| *part == metadata.as_bytes()).count();
        assert_eq!(count, 0, "{metadata} in {what}");
    }
}

fn pixels(path: &str, bytes: &[u8]) -> [u32; 2] {
    let drawing = super::super::drawing(path, bytes).unwrap();
    drawing.pixels.unwrap()
}

#[test]
fn every_orientation_is_turned_upright_and_nothing_of_the_camera_is_left() {
    for orientation in 1..=8 {
        let exif = exif(orientation);
        let picture = stored(orientation);
        let (as_png, as_jpeg) = (png(&picture, Some(&exif)), jpeg_of(&picture, Some(&exif)));
        for most in [MostPixels::PAGE, MostPixels::PRINT] {
            let made = shown("figures/a.png", &as_png, most);
            assert_bare(&made, &format!("PNG with orientation {orientation}"));
            assert!(decoded(&made) == seen(), "PNG with {orientation}");
            let made = shown("figures/a.JPG", &as_jpeg, most);
            assert_bare(&made, &format!("JPEG with orientation {orientation}"));
            let (made, seen) = (decoded(&made), seen());
            assert_eq!(made.dimensions(), seen.dimensions(), "{orientation}");
            for (x, y) in [(4, 4), (43, 4), (4, 27), (43, 27)] {
                let (made, seen) = (made.get_pixel(x, y), seen.get_pixel(x, y));
                let apart = (0..3).map(|colour| made[colour].abs_diff(seen[colour]));
                assert!(apart.max() < Some(12), "JPEG with {orientation}: {made:?}");
            }
        }
        // The layout has the size that is seen.
        assert_eq!(pixels("a.png", &as_png), [WIDTH, HEIGHT]);
        assert_eq!(pixels("a.jpg", &as_jpeg), [WIDTH, HEIGHT]);
    }
}

#[test]
fn photograph_that_needs_no_change_is_copied_and_only_metadata_are_left_out() {
    let picture = seen();
    let cases = [
        ("a.png", png(&picture, None), png(&picture, Some(&exif(1)))),
        (
            "a.jpg",
            jpeg_of(&picture, None),
            jpeg_of(&picture, Some(&exif(1))),
        ),
    ];
    for (path, bare, with_metadata) in cases {
        let made = shown(path, &bare, MostPixels::PAGE);
        assert!(matches!(made, Cow::Borrowed(_)), "{path} is copied");
        let made = shown(path, &with_metadata, MostPixels::PAGE);
        assert!(made == bare, "{path} has other pixels");
    }
    let drawing = b"<svg xmlns='http://www.w3.org/2000/svg'/>";
    let made = shown("a.svg", drawing, MostPixels::PAGE);
    assert!(matches!(made, Cow::Borrowed(_)));
}

#[test]
fn large_photographs_are_made_smaller_for_the_page_and_for_print() {
    let exif = exif(6);
    let wide = RgbImage::from_pixel(2_400, 1_200, Rgb([90, 120, 60]));
    for (path, bytes, page, print) in [
        ("a.jpg", jpeg_of(&wide, None), [1_600, 800], [1_417, 709]),
        ("a.png", png(&wide, None), [1_600, 800], [1_417, 709]),
        (
            "a.jpg",
            jpeg_of(&wide, Some(&exif)),
            [800, 1_600],
            [414, 827],
        ),
    ] {
        for (most, expected) in [(MostPixels::PAGE, page), (MostPixels::PRINT, print)] {
            let made = shown(path, &bytes, most);
            let made_again = shown(path, &bytes, most);
            assert!(made == made_again, "other bytes in the same run");
            assert_bare(&made, path);
            let picture = image::load_from_memory(&made).unwrap();
            assert_eq!(<[u32; 2]>::from(picture.dimensions()), expected, "{path}");
            assert_eq!(most.fit(pixels(path, &bytes)), expected, "{path}");
        }
    }
    assert_eq!(MostPixels::PAGE.fit([1_600, 1_600]), [1_600, 1_600]);
    assert_eq!(MostPixels::PAGE.fit([16_000, 1]), [1_600, 1]);
    assert_eq!(MostPixels::PAGE.fit([u32::MAX, u32::MAX]), [1_600, 1_600]);
}

#[test]
fn broken_exif_blocks_do_no_harm() {
    let whole = exif(6);
    let picture = stored(6);
    let mut blocks: Vec<Vec<u8>> = (0..whole.len()).map(|end| whole[..end].to_vec()).collect();
    for at in 0..40 {
        for value in [0, 0x7f, 0xff] {
            let mut block = whole.clone();
            block[at] = value;
            blocks.push(block);
        }
    }
    for block in blocks {
        for (path, bytes) in [
            ("a.jpg", jpeg_of(&picture, Some(&block))),
            ("a.png", png(&picture, Some(&block))),
        ] {
            let made = shown(path, &bytes, MostPixels::PAGE);
            assert_bare(&made, path);
            let picture = image::load_from_memory(&made).unwrap();
            assert_eq!(<[u32; 2]>::from(picture.dimensions()), pixels(path, &bytes));
        }
    }
}

#[test]
fn damaged_photographs_are_left_as_they_are() {
    let bytes = jpeg_of(&seen(), Some(&exif(6)));
    for end in [0, 2, 40, bytes.len() / 2] {
        let _ = shown("a.jpg", &bytes[..end], MostPixels::PAGE);
        let _ = shown("a.png", &bytes[..end], MostPixels::PAGE);
    }
    assert_eq!(&*shown("a.png", &bytes, MostPixels::PAGE), bytes.as_slice());
}
