//! How much space a text takes in a drawing.
//!
//! A drawing does not know the font of the page that it is on, so widths are estimated: at least those of Noto Sans,
//! regular and bold, which a test compares. What is too long for a line is broken; nothing is ever cut off.

use crate::words::marks::{CLOSE, OPEN, is_mark};

/// The size of letters, in tenths of a millimetre: 8.2 pt in print.
pub(super) const SIZE: i32 = 29;
/// The height of a capital letter.
pub(super) const CAP: i32 = 21;
/// What is below the baseline, with the space to a line below it.
pub(super) const TAIL: i32 = 9;
/// The distance of two baselines.
pub(super) const LEADING: i32 = 34;

/// The width of a letter, in thousandths of the size.
fn thousandths(letter: char) -> i32 {
    match letter {
        letter if is_mark(letter) => 0,
        // Marks that are set above or below a letter.
        '\u{300}'..='\u{36f}' => 0,
        ' ' | '\u{a0}' => 260,
        'i' | 'j' | 'l' | '.' | ',' | ':' | ';' | '\'' | '!' | '(' | ')' | '-' | '[' | ']' => 340,
        'f' | 'r' | 't' | 'I' | 'J' | '/' => 460,
        '0'..='9' => 580,
        'm' | 'w' | 'M' | 'W' | '@' | '%' => 990,
        'D' | 'G' | 'H' | 'N' | 'O' | 'Q' | 'U' | '&' | 'Ñ' | 'Ó' | 'Ö' | 'Ü' => 820,
        'æ' => 920,
        ' '..='~' | 'ß'..='ÿ' => 710,
        _ => 1_320,
    }
}

/// The width of a text on one line.
pub(super) fn width(text: &str) -> i32 {
    let sum: i32 = text.chars().map(thousandths).fold(0, i32::saturating_add);
    (sum.min(i32::MAX / SIZE) * SIZE + 999) / 1_000
}

/// Breaks a text into lines that are at most `room` wide: at spaces, and a longer word anywhere.
pub(super) fn lines(text: &str, room: i32) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    for word in text
        .split([' ', '\t', '\n'])
        .filter(|word| !word.is_empty())
    {
        let separator = if line.is_empty() { "" } else { " " };
        if width(&line) + width(separator) + width(word) <= room {
            line.push_str(separator);
            line.push_str(word);
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        for letter in word.chars() {
            let extra = thousandths(letter) * SIZE / 1_000 + 1;
            if extra > 1 && width(&line) + extra > room && width(&line) > 0 {
                lines.push(std::mem::take(&mut line));
            }
            line.push(letter);
        }
    }
    if !line.is_empty() || lines.is_empty() {
        lines.push(line);
    }
    with_marks_on_each(lines)
}

/// Marks around a text of the page's own stay on one line: see `src/words/marks.rs`.
fn with_marks_on_each(lines: Vec<String>) -> Vec<String> {
    let mut is_open = false;
    let lines = lines.into_iter().map(|line| {
        let was_open = is_open;
        if let Some(last) = line.chars().rfind(|letter| is_mark(*letter)) {
            is_open = last == OPEN;
        }
        let mut whole = String::new();
        whole.extend(was_open.then_some(OPEN));
        whole.push_str(&line);
        whole.extend(is_open.then_some(CLOSE));
        whole
    });
    lines.collect()
}

/// The width of the widest of some lines.
pub(super) fn widest<'l>(lines: impl IntoIterator<Item = &'l String>) -> i32 {
    let widths = lines.into_iter().map(|line| width(line));
    widths.max().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::words::marks::plain;
    use ttf_parser::Face;

    #[test]
    fn no_letter_is_wider_than_estimated() {
        for font in [ttf_noto_sans::REGULAR, ttf_noto_sans::BOLD] {
            let face = Face::parse(font, 0).unwrap();
            let em = i32::from(face.units_per_em());
            let mut compared = 0;
            let latin = ' '..'\u{250}';
            let other = '\u{370}'..'\u{530}';
            for letter in latin.chain(other).filter(|letter| !letter.is_control()) {
                let glyph = face.glyph_index(letter);
                let advance = glyph.and_then(|glyph| face.glyph_hor_advance(glyph));
                let width = i32::from(advance.unwrap_or(0)) * 1_000 / em;
                let estimated = thousandths(letter);
                assert!(
                    width <= estimated,
                    "{letter:?} is {width} wide, not {estimated}"
                );
                compared += i32::from(width > 0);
            }
            assert!(compared > 500, "{compared} letters");
        }
    }

    #[test]
    fn lines_fit_and_nothing_is_lost() {
        let long = "tornillo-de-la-tapa-del-filtro-de-aire-izquierdo";
        for text in ["", "float bowl", "a b c d e f g h", long, "x  y\tz"] {
            for room in [40, 100, 250, 1_000] {
                let lines = lines(text, room);
                assert!(widest(&lines) <= room, "{text:?} in {room}: {lines:?}");
                let letters = |text: &str| text.replace([' ', '\t'], "");
                assert_eq!(letters(&lines.concat()), letters(text));
            }
        }
        assert_eq!(lines("float bowl", 1_000), ["float bowl"]);
    }

    #[test]
    fn each_line_has_its_own_marks() {
        let lines = lines("\u{e000}se afloja primero:\u{e001} battery lead", 200);
        assert!(lines.len() > 1, "{lines:?}");
        for line in &lines {
            let opened = line.matches(OPEN).count();
            assert_eq!(opened, line.matches(CLOSE).count(), "{lines:?}");
        }
        let text = lines.join(" ");
        assert_eq!(plain(&text), "se afloja primero: battery lead");
    }
}
