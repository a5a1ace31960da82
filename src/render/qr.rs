//! A sheet's address as a QR code (ISO/IEC 18004).

use qrcodegen::{QrCode, QrCodeEcc};
use std::fmt::Write as _;

/// The QR code of a sheet's address as SVG, with the content mark of this print: the page that it opens says whether a
/// print with that mark is current (`templates/html/page.js`). None if the address is too long for a QR code.
///
/// Medium error correction recovers about 15 % of the code, as after a smear.
pub(super) fn qr(address: &str, mark: &str) -> Option<String> {
    let address = format!("{address}?print={mark}");
    let code = QrCode::encode_text(&address, QrCodeEcc::Medium).ok()?;
    // ISO/IEC 18004 requires a quiet zone of four modules.
    let quiet = 4;
    let size = code.size() + 2 * quiet;
    let mut path = String::new();
    for y in 0..code.size() {
        for x in (0..code.size()).filter(|x| code.get_module(*x, y)) {
            let _ = write!(path, "M{} {}h1v1h-1z", x + quiet, y + quiet);
        }
    }
    Some(format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {size} {size}\" shape-rendering=\"crispEdges\" \
         aria-hidden=\"true\" focusable=\"false\"><path fill=\"#fff\" d=\"M0 0h{size}v{size}H0z\"/><path d=\"{path}\"/></svg>"
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Decodes the drawn code with another library.
    #[test]
    fn code_decodes_to_the_address_and_the_mark() {
        let address = "https://sheets.example/es/tarn-yarrow/governor-linkage-bench-checklist.html";
        let svg = qr(address, "1a2b3c4d").expect("it is short");
        let modules = svg.split("d=\"").nth(2).expect("there are modules");
        let size: usize = svg
            .split("viewBox=\"0 0 ")
            .nth(1)
            .and_then(|rest| rest.split(' ').next()?.parse().ok())
            .expect("it says its size");
        let dark: Vec<(usize, usize)> = modules
            .split('M')
            .skip(1)
            .map(|module| {
                let position = module.split('h').next().expect("a position");
                let (x, y) = position.split_once(' ').expect("two numbers");
                (x.parse().expect("a number"), y.parse().expect("a number"))
            })
            .collect();
        let scale = 4;
        let mut image =
            rqrr::PreparedImage::prepare_from_greyscale(size * scale, size * scale, |x, y| {
                if dark.contains(&(x / scale, y / scale)) {
                    0
                } else {
                    255
                }
            });
        let grids = image.detect_grids();
        let (_, read) = grids[0].decode().expect("it can be read");
        assert_eq!(read, format!("{address}?print=1a2b3c4d"));
    }

    #[test]
    fn too_long_address_has_no_code() {
        assert_eq!(qr(&"x".repeat(5000), ""), None);
    }
}
