//! SVG figures.

use super::fault::{Fault, Size};
use crate::tree::glyph::has_glyph;
use roxmltree::{Document, Node, ParsingOptions};

/// The most elements inside each other that the typesetter reads.
const MAX_DEPTH: usize = 1_025;

/// Checks that an SVG is well-formed XML, has a size if it gives one, and needs no other file and no character that no
/// font has. `None` if its size is not known.
pub(super) fn size(bytes: &[u8]) -> Result<Option<Size>, Fault> {
    let text = std::str::from_utf8(bytes).map_err(|_| Fault::other_format())?;
    if !text.contains("<svg") {
        return Err(Fault::other_format());
    }
    check_depth(text)?;
    let options = ParsingOptions {
        // Drawing programs write document types. Entities can't refer to files.
        allow_dtd: true,
        ..ParsingOptions::default()
    };
    let document = Document::parse_with_options(text, options)
        .map_err(|error| Fault::damaged(format!("is no well-formed drawing: {error}")))?;
    let root = document.root_element();
    if root.tag_name().name() != "svg" {
        return Err(Fault::other_format());
    }
    let has_styles = root
        .descendants()
        .any(|node| node.tag_name().name() == "style");
    for node in root.descendants() {
        match node.tag_name().name() {
            "image" | "feImage" | "use" if is_drawn(node, has_styles) => check_link(node)?,
            "text" if is_drawn(node, has_styles) => check_characters(node)?,
            _ => {}
        }
    }
    drawing_size(root)
}

/// The least width in print, in millimetres, at which every label of a drawing is as high as `label`, in millimetres.
/// `None` without labels. Scaling by `transform` is not counted.
pub(super) fn least_width(bytes: &[u8], label: f64) -> Option<f64> {
    let text = std::str::from_utf8(bytes).ok()?;
    check_depth(text).ok()?;
    let options = ParsingOptions {
        allow_dtd: true,
        ..ParsingOptions::default()
    };
    let document = Document::parse_with_options(text, options).ok()?;
    let root = document.root_element();
    let width = match root.attribute("viewBox") {
        Some(area) => {
            let mut sides = area.split([' ', ',']).filter(|part| !part.is_empty());
            sides.nth(2)?.parse().ok()?
        }
        None => length(root.attribute("width")?)?.0,
    };
    let labels = root.descendants().filter(|node| {
        let mut children = node.children().filter(Node::is_text);
        matches!(node.tag_name().name(), "text" | "tspan")
            && children.any(|child| !child.text().unwrap_or_default().trim().is_empty())
    });
    let smallest = labels.map(label_size).min_by(f64::total_cmp)?;
    (smallest > 0.0).then(|| label / smallest * width)
}

/// The size of an element's letters, in units of the drawing. Without one it is that of browsers, 16.
fn label_size(label: Node<'_, '_>) -> f64 {
    let own = |node: Node<'_, '_>| {
        let style = node.attribute("style").unwrap_or_default();
        let mut rules = style.split(';');
        let of_style = rules.find_map(|rule| rule.trim().strip_prefix("font-size:"));
        let size = of_style.or_else(|| node.attribute("font-size"))?;
        Some(length(size.trim())?.0)
    };
    label.ancestors().find_map(own).unwrap_or(16.0)
}

/// Refuses tags that are too deep in each other, before the parser meets them.
pub(super) fn check_depth(text: &str) -> Result<(), Fault> {
    let mut depth = 0_usize;
    let mut deepest = 0;
    for (at, _) in text.match_indices('<') {
        let tag = &text[at + 1..];
        if tag.starts_with('/') {
            depth = depth.saturating_sub(1);
        } else if tag.starts_with(|letter: char| letter.is_alphabetic()) {
            let end = tag.find('>').unwrap_or(tag.len());
            if !tag[..end].ends_with('/') {
                depth += 1;
                deepest = deepest.max(depth);
            }
        }
    }
    if deepest > MAX_DEPTH {
        return Err(Fault::unprintable(
            format!("has more than {MAX_DEPTH} elements inside each other"),
            "ungroup its parts, and export it again",
        ));
    }
    Ok(())
}

/// Whether an element is certainly drawn. What a style sheet may hide is not certain.
fn is_drawn(node: Node<'_, '_>, has_styles: bool) -> bool {
    node.ancestors().all(|node| {
        let is_template = matches!(
            node.tag_name().name(),
            "defs"
                | "symbol"
                | "clipPath"
                | "mask"
                | "pattern"
                | "marker"
                | "switch"
                | "foreignObject"
                | "metadata"
        );
        let style = node.attribute("style").unwrap_or_default().replace(' ', "");
        let is_hidden = node.attribute("display") == Some("none")
            || node.attribute("visibility") == Some("hidden")
            || style.contains("display:none")
            || style.contains("visibility:hidden");
        let is_styled = has_styles && (node.has_attribute("class") || node.has_attribute("id"));
        let is_filter = node.tag_name().name() == "filter";
        !is_template && !is_filter && !is_styled && !is_hidden
    })
}

/// Refuses a link to another file: neither a browser nor the typesetter draws what is in it.
fn check_link(node: Node<'_, '_>) -> Result<(), Fault> {
    let mut attributes = node.attributes();
    let link = attributes.find(|attribute| attribute.name() == "href");
    let Some(link) = link.map(|link| link.value().trim()) else {
        return Ok(());
    };
    let is_inside = link.starts_with("data:")
        || link.starts_with('#') && node.tag_name().name() == "use"
        || link.is_empty() && node.tag_name().name() == "use";
    if is_inside {
        return Ok(());
    }
    let shown: String = link.chars().take(60).collect();
    Err(Fault::unprintable(
        format!("needs another file, which is not drawn: `{shown}`"),
        "embed the picture in the drawing, and export it again",
    ))
}

/// Refuses a character that is in none of the fonts that sheets are set in.
fn check_characters(node: Node<'_, '_>) -> Result<(), Fault> {
    let texts = node.descendants().filter(Node::is_text);
    let mut letters = texts.flat_map(|node| node.text().unwrap_or_default().chars());
    let Some(letter) = letters.find(|letter| !has_glyph(*letter) && !is_mathematical(*letter))
    else {
        return Ok(());
    };
    let code = u32::from(letter);
    Err(Fault::unprintable(
        format!("has the character `{letter}` (U+{code:04X}), which no font of the sheets has"),
        "write a word or another character, or convert the text to paths",
    ))
}

/// Whether the typesetter's own font of mathematics has a character (Mathematical Alphanumeric Symbols).
fn is_mathematical(letter: char) -> bool {
    ('\u{1d400}'..='\u{1d7ff}').contains(&letter)
}

/// The size that the drawing gives, or the one of its view box.
fn drawing_size(root: Node<'_, '_>) -> Result<Option<Size>, Fault> {
    let [width, height] = ["width", "height"].map(|name| length(root.attribute(name)?));
    for (value, _) in [width, height].into_iter().flatten() {
        if value <= 0.0 {
            return Err(Fault::without_size());
        }
    }
    if let (Some((width, unit)), Some((height, other))) = (width, height)
        && unit == other
        && unit != "%"
    {
        return Ok(Some(Size { width, height }));
    }
    let view = root.attribute("viewBox").unwrap_or_default();
    let view = view.split([' ', ',', '\n', '\t', '\r']);
    let view = view.filter(|number| !number.is_empty());
    let view: Vec<f64> = view.filter_map(|number| number.parse().ok()).collect();
    // Without a size, a drawing is scaled to the space.
    let size = match view.as_slice() {
        [_, _, width, height] if *width > 0.0 && *height > 0.0 => Some(Size {
            width: *width,
            height: *height,
        }),
        _ => None,
    };
    Ok(size)
}

/// The number and the unit of a length. `None` if it is none.
fn length(text: &str) -> Option<(f64, &str)> {
    let text = text.trim();
    let unit = text.trim_start_matches(|letter: char| {
        letter.is_ascii_digit() || matches!(letter, '.' | '-' | '+')
    });
    let number = &text[..text.len() - unit.len()];
    // A number with an exponent has no unit.
    match text.parse() {
        Ok(value) => Some((value, "")),
        Err(_) => Some((number.parse().ok()?, unit.trim())),
    }
}
