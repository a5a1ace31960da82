//! Checks that hold for every drawing.

use super::letters::{SIZE, width};
use crate::page::Drawing;
use roxmltree::{Document, Node};

/// Texts that a drawing has to survive: markup, a control character, a long name, and nothing.
pub(super) const HOSTILE: [&str; 6] = [
    "</text><script>alert(1)</script>",
    "\"><g onload=\"x\">&amp;<!--",
    "a\u{7}b\u{ffff}\n\u{e000}c\u{e001}",
    "tornillo de sujeción de la abrazadera del conducto",
    "Verbindungsschraubensicherungsblechhalterung",
    "",
];

fn number(node: Node<'_, '_>, name: &str) -> i32 {
    let text = node
        .attribute(name)
        .unwrap_or_else(|| panic!("no {name}: {node:?}"));
    text.parse()
        .unwrap_or_else(|_| panic!("{name} is {text:?}"))
}

/// The area of an element, with the thickness of its lines: left, top, right, bottom.
fn area(node: Node<'_, '_>) -> Option<[i32; 4]> {
    let at = |name| number(node, name);
    let [left, top, right, bottom] = match node.tag_name().name() {
        "line" => [at("x1"), at("y1"), at("x2"), at("y2")],
        "rect" => [
            at("x"),
            at("y"),
            at("x") + at("width"),
            at("y") + at("height"),
        ],
        "circle" => {
            let (x, y, r) = (at("cx"), at("cy"), at("r"));
            [x - r, y - r, x + r, y + r]
        }
        "polygon" | "polyline" => {
            let points = node.attribute("points").unwrap();
            let points: Vec<i32> = points
                .split([' ', ','])
                .map(|number| number.parse().unwrap())
                .collect();
            let side = |first| points.iter().copied().skip(first).step_by(2);
            let (x, y) = (|| side(0), || side(1));
            [
                x().min().unwrap(),
                y().min().unwrap(),
                x().max().unwrap(),
                y().max().unwrap(),
            ]
        }
        "text" => {
            let letters: i32 = node
                .attribute("font-size")
                .map_or(SIZE, |letters| letters.parse().unwrap());
            let width = width(node.text().unwrap_or_default()) * letters / SIZE;
            let left = match node.attribute("text-anchor") {
                None => at("x"),
                Some("middle") => at("x") - width / 2,
                Some("end") => at("x") - width,
                Some(other) => panic!("the anchor {other}"),
            };
            // Above the baseline the height of a capital with its accent, below it that of a letter's tail.
            return Some([
                left,
                at("y") - letters * 85 / 100,
                left + width,
                at("y") + letters / 5,
            ]);
        }
        "g" | "svg" => return None,
        other => panic!("the element {other}"),
    };
    let thickness = node
        .attribute("stroke-width")
        .map_or(3, |width| width.parse().unwrap());
    let half = (thickness + 1) / 2;
    Some([
        left.min(right) - half,
        top.min(bottom) - half,
        left.max(right) + half,
        top.max(bottom) + half,
    ])
}

/// Checks that a drawing is well-formed, that nothing is outside of it, that no two texts overlap, and that it has a text
/// alternative. Returns its texts.
pub(super) fn check(drawing: &Drawing) -> Vec<String> {
    let svg = &drawing.svg;
    let document = Document::parse(svg).unwrap_or_else(|error| panic!("{error}: {svg}"));
    let root = document.root_element();
    let (width, height) = (drawing.width, drawing.height);
    assert_eq!(
        root.attribute("viewBox"),
        Some(format!("0 0 {width} {height}").as_str())
    );
    let (width, height) = (
        i32::try_from(width).unwrap(),
        i32::try_from(height).unwrap(),
    );
    let mut texts: Vec<([i32; 4], String)> = Vec::new();
    for node in root.descendants().filter(Node::is_element) {
        assert!(node.attribute("id").is_none(), "an id: {svg}");
        let Some([left, top, right, bottom]) = area(node) else {
            continue;
        };
        assert!(
            left >= 0 && top >= 0 && right <= width && bottom <= height,
            "{node:?} is at {left}, {top} to {right}, {bottom} of {width}, {height}: {svg}"
        );
        if node.tag_name().name() == "text" {
            let text = node.text().unwrap_or_default().to_owned();
            for ([l, t, r, b], other) in &texts {
                let overlaps = left < *r && *l < right && top + 4 < *b && *t + 4 < bottom;
                assert!(!overlaps, "{text:?} overlaps {other:?}: {svg}");
            }
            texts.push(([left, top, right, bottom], text));
        }
    }
    texts.into_iter().map(|(_, text)| text).collect()
}

/// The texts of a drawing without spaces and marks, in one.
pub(super) fn letters(texts: &[String]) -> String {
    let joined = texts.concat();
    joined
        .chars()
        .filter(|letter| !letter.is_whitespace() && !crate::words::marks::is_mark(*letter))
        .collect()
}

/// A text as [`letters`] gives it, with what a drawing replaces.
pub(super) fn letters_of(text: &str) -> String {
    let text = text.replace(['\u{7}', '\u{ffff}'], "\u{fffd}");
    letters(&[text])
}
