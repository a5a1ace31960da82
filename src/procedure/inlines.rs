//! Takes things out of inlines: figures, and white space at the ends.

use crate::prose::{Image, Inline};

/// Removes the images from text, at any depth, and returns them.
pub(super) fn take_figures(inlines: &mut Vec<Inline>) -> Vec<Image> {
    let mut figures = Vec::new();
    take(inlines, &mut |inline| match inline {
        Inline::Image(image) => {
            figures.push((**image).clone());
            true
        }
        _ => false,
    });
    figures
}

/// Removes the inlines that `is_selected` selects, inner ones first, and the parents that this leaves
/// empty.
pub(super) fn take(inlines: &mut Vec<Inline>, is_selected: &mut dyn FnMut(&Inline) -> bool) {
    inlines.retain_mut(|inline| {
        match inline {
            Inline::Strong(parts) | Inline::Emphasis(parts) | Inline::Link(_, parts) => {
                let was_empty = parts.is_empty();
                take(parts, is_selected);
                if !was_empty && parts.is_empty() {
                    return false;
                }
            }
            Inline::Action(_, parts) => take(parts, is_selected),
            _ => {}
        }
        !is_selected(inline)
    });
}

/// Removes white space and breaks at both ends.
pub(super) fn trim(inlines: &mut Vec<Inline>) {
    while let Some(last) = inlines.last_mut() {
        match last {
            Inline::Text(text) => {
                text.truncate(text.trim_end().len());
                if !text.is_empty() {
                    break;
                }
            }
            Inline::Break => {}
            _ => break,
        }
        inlines.pop();
    }
    while let Some(first) = inlines.first_mut() {
        match first {
            Inline::Text(text) => {
                let spaces = text.len() - text.trim_start().len();
                text.drain(..spaces);
                if !text.is_empty() {
                    break;
                }
            }
            Inline::Break => {}
            _ => break,
        }
        inlines.remove(0);
    }
}
