//! See [`RULE`].

use super::check::On;
use super::context::{TextScene, legend_of};
use crate::finding::{Finding, Findings, nearest, rule};

rule! {
    /// A figure has a number for a part that is not in the drawing.
    ///
    /// In a drawing, `place` is the id of an element that is drawn. In a photograph it is an area: its left edge, upper
    /// edge, width and height in per cent of the photograph.
    ///
    /// ## At the bench
    ///
    /// The step says "nut (2)", and no part of the figure has the number 2.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === figures/pump.svg
    /// <svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 30"><path id="cover" d="M5 5h30v20h-30z"/></svg>
    /// === figures/pump.toml
    /// title = "Hand pump"
    /// machines = ["hand-pump"]
    /// [callout.cover]
    /// number = 1
    /// place = "lid"
    /// ```
    ///
    /// ## Fix
    ///
    /// Write the id as the drawing has it, or give the element that id in the drawing program.
    "callout-without-place", Names, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Text(check)];

fn check(scene: &TextScene<'_>, findings: &mut Findings) {
    let legend = legend_of(scene);
    let Some((legend, path)) = legend.and_then(|legend| Some((legend, legend.picture.as_ref()?)))
    else {
        return;
    };
    let Some(drawing) = scene.tree.figure(path).and_then(|figure| figure.drawing()) else {
        // It is damaged, which is reported.
        return;
    };
    for place in legend.callouts.iter().flat_map(|callout| &callout.places) {
        if drawing.place(&place.value).is_some() {
            continue;
        }
        let near = nearest(&place.value, drawing.ids());
        let message = format!("`{path}` has no place `{}`", place.value);
        let finding = Finding::new(&RULE, message).primary(place.span, "");
        let is_drawing = drawing.ids().next().is_some();
        findings.push(if is_drawing {
            finding
                .suggest(near, "write the id of an element that is drawn")
                .corrected(&place.value, near)
        } else {
            finding.help(
                "write an area: left edge, upper edge, width and height in per cent, as in `\"41 30 12 9\"`",
            )
        });
    }
}
