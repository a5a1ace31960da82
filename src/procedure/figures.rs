//! Faults of figures: those that can't be printed, those that are missing, and those that nothing shows.

use super::{Procedure, rules};
use crate::finding::{Finding, Findings, Level, nearest};
use crate::shop::Shop;
use crate::tree::Tree;
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};

/// Why figures can't be printed, by the figure's index. It has none that can be.
pub(crate) fn figure_faults(tree: &Tree) -> BTreeMap<usize, Finding> {
    // Decoding is slow, and only it is parallel.
    let figures = tree.figures.par_iter().enumerate();
    let faults = figures.filter_map(|(index, figure)| Some((index, figure.fault()?)));
    faults.collect()
}

/// Reports the figures that can't be printed, each once: where it is used first, or without a place.
pub(crate) fn report_broken_figures<'p>(
    faults: &BTreeMap<usize, Finding>,
    procedures: &(impl Iterator<Item = &'p Procedure> + Clone),
    findings: &mut Findings,
) {
    for (index, finding) in faults {
        let finding = finding.clone();
        let uses = procedures.clone().flat_map(|procedure| &procedure.figures);
        let mut uses = uses.filter(|(_, id)| id.index() == *index);
        findings.push(match uses.next() {
            Some((span, _)) => finding.primary(*span, ""),
            None => finding,
        });
    }
}

/// Reports the pictures of machines that the tree does not have.
pub(crate) fn report_missing_pictures(tree: &Tree, shop: &Shop, findings: &mut Findings) {
    let machines = shop.machines.values();
    let named = machines.flat_map(|machine| {
        let picture = machine.picture.iter().map(|path| ("picture", path));
        picture.chain(machine.wiring.iter().map(|path| ("wiring", path)))
    });
    for (field, picture) in named {
        let mut paths = tree.figures.iter().map(|figure| figure.path.as_str());
        if paths.clone().any(|path| path == picture.value) {
            continue;
        }
        let message = format!("there is no figure `{}`", picture.value);
        findings.push(
            Finding::new(&rules::MISSING_FIGURE, message)
                .primary(picture.span, "")
                .suggest(
                    nearest(&picture.value, paths.by_ref()),
                    format!(
                        "name a file of the folder `figures`: `{field} = \"figures/pump.svg\"`"
                    ),
                ),
        );
    }
}

/// Reports the figures that no page shows. While there are errors or warnings, nothing is reported: what can't be read as it
/// is written may be what shows them.
pub(crate) fn report_unused_figures<'p>(
    tree: &Tree,
    shop: &Shop,
    procedures: &(impl Iterator<Item = &'p Procedure> + Clone),
    findings: &mut Findings,
) {
    if findings.count(Level::Error) + findings.count(Level::Warning) > 0 {
        return;
    }
    let written = procedures.clone().flat_map(|procedure| &procedure.figures);
    let written: BTreeSet<usize> = written.map(|(_, id)| id.index()).collect();
    // A figure with a legend is in the parts lists of its machines.
    let legends = shop.legends.values();
    let of_legends = legends.filter_map(|legend| legend.picture.as_deref());
    let of_machines = shop.machines.values().flat_map(|machine| {
        let paths = machine.picture.iter().chain(&machine.wiring);
        paths.map(|path| path.value.as_str())
    });
    let named: BTreeSet<&str> = of_legends.chain(of_machines).collect();
    for (index, figure) in tree.figures.iter().enumerate() {
        let path = figure.path.as_str();
        if written.contains(&index) || named.contains(path) {
            continue;
        }
        let help = format!(
            "show it in a step, `![what it shows](../{path})`, add a legend, a `.toml` file of the same name \
             beside it, or remove it"
        );
        let message = format!("no page shows figure `{path}`");
        findings.push(Finding::new(&rules::UNUSED_FIGURE, message).help(help));
    }
}
