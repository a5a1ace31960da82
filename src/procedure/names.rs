//! Resolves the names of machines, procedures, fault tables and figures in Markdown sources.

use super::{
    FaultId, FaultTable, FigureFileId, Procedure, ProcedureId, Reference, StepName, rules,
};
use crate::finding::{Finding, Findings, Located, Near, Span, nearest};
use crate::prose::{self, ActionLink, Image, Inline, ProseBlock, Verb};
use crate::record::{Id, Keys};
use crate::shop::{Machine, MachineId};
use crate::tree::{FigureFile, SourceKind, Tree};

/// The names that Markdown sources can use, taken from the paths of a tree's files.
pub(super) struct Directory<'t> {
    machines: Keys<'t, Machine>,
    procedures: Keys<'t, Procedure>,
    faults: Keys<'t, FaultTable>,
    figures: Keys<'t, FigureFile>,
}

impl<'t> Directory<'t> {
    pub(super) fn new(tree: &'t Tree) -> Directory<'t> {
        let files = || tree.files.iter();
        let procedures = files().filter_map(|file| match &file.kind {
            SourceKind::Procedure { id, .. } => Some(id.as_str()),
            _ => None,
        });
        let faults = files().filter_map(|file| match &file.kind {
            SourceKind::Fault { id } => Some(id.as_str()),
            _ => None,
        });
        Directory {
            machines: crate::shop::machine_keys(tree),
            procedures: procedures.collect(),
            faults: faults.collect(),
            figures: tree.figures.iter().map(|file| file.path.as_str()).collect(),
        }
    }

    /// The machines that a front matter names.
    pub(super) fn machines(
        &self,
        names: &[Located<String>],
        findings: &mut Findings,
    ) -> Vec<Located<MachineId>> {
        let unknown = |name: &str| format!("there is no machine `{name}`");
        let machines = names
            .iter()
            .filter_map(|name| find(&self.machines, name, unknown, findings));
        machines.collect()
    }

    /// The machines that `{only="…"}` of a step names.
    pub(super) fn only_machines(
        &self,
        names: &[Located<String>],
        findings: &mut Findings,
    ) -> Vec<Located<MachineId>> {
        let unknown = |name: &str| format!("there is no machine `{name}` to limit the step to");
        let machines = names
            .iter()
            .filter_map(|name| find(&self.machines, name, unknown, findings));
        machines.collect()
    }

    pub(super) fn procedure(
        &self,
        name: &Located<String>,
        findings: &mut Findings,
    ) -> Option<Located<ProcedureId>> {
        let unknown = |name: &str| format!("there is no procedure `{name}`");
        find(&self.procedures, name, unknown, findings)
    }
}

/// The index of a name in `keys`. Reports a name that is missing there.
fn find<T>(
    keys: &Keys<'_, T>,
    name: &Located<String>,
    message: impl FnOnce(&str) -> String,
    findings: &mut Findings,
) -> Option<Located<Id<T>>> {
    let id = keys.find(&name.value);
    if id.is_none() {
        let near = nearest(&name.value, keys.iter());
        findings.push(
            Finding::new(&rules::UNKNOWN_THING, message(&name.value))
                .primary(name.span, "")
                .suggest(near, otherwise(keys))
                .corrected(&name.value, near),
        );
    }
    Some(name.with(id?))
}

/// Resolves the references and the figures of a procedure's text.
pub(super) fn resolve_text(
    procedure: &mut Procedure,
    directory: &Directory<'_>,
    findings: &mut Findings,
) {
    let mut resolver = Resolver {
        directory,
        path: &procedure.path,
        references: Vec::new(),
        figures: Vec::new(),
        findings,
    };
    for block in &procedure.why {
        resolver.block(block);
    }
    for item in procedure.sections.iter().flat_map(|section| &section.items) {
        match item {
            super::Item::Text(block) => resolver.block(block),
            super::Item::Figure(image) => resolver.figure(image),
            super::Item::Step(step) => {
                for paragraph in step.note_paragraphs().chain(step.paragraphs()) {
                    resolver.inlines(paragraph);
                }
                for image in &step.figures {
                    resolver.figure(image);
                }
            }
        }
    }
    let Resolver {
        references,
        figures,
        ..
    } = resolver;
    procedure.references = references.into_iter().collect();
    procedure.figures = figures.into_iter().collect();
}

struct Resolver<'r, 't> {
    directory: &'r Directory<'t>,
    /// The path of the file that the names are in.
    path: &'r str,
    references: Vec<(Span, Reference)>,
    figures: Vec<(Span, FigureFileId)>,
    findings: &'r mut Findings,
}

impl Resolver<'_, '_> {
    fn block(&mut self, block: &ProseBlock) {
        match block {
            ProseBlock::Paragraph(inlines, _) => self.inlines(inlines),
            ProseBlock::List(list) => {
                for block in list.items.iter().flat_map(|item| &item.blocks) {
                    self.block(block);
                }
            }
            ProseBlock::Note(note) => note
                .paragraphs
                .iter()
                .for_each(|paragraph| self.inlines(paragraph)),
            ProseBlock::Heading(_) | ProseBlock::Quote(..) => {}
        }
    }

    fn inlines(&mut self, inlines: &[Inline]) {
        for action in prose::actions(inlines) {
            if action.verb != Verb::See {
                continue;
            }
            match self.reference(action) {
                Ok(reference) => self.references.push((action.span, reference)),
                Err(finding) => self.findings.push(*finding),
            }
        }
    }

    fn reference(&self, action: &ActionLink) -> Result<Reference, Box<Finding>> {
        let thing = &action.thing;
        let parts: Vec<&str> = thing.value.split('/').collect();
        match parts.as_slice() {
            ["procedure", id] => {
                let procedures = &self.directory.procedures;
                let reference = procedures.find(id).map(Reference::Procedure);
                reference.ok_or_else(|| missing(thing, "procedure", id, procedures))
            }
            ["fault", id] => {
                let faults = &self.directory.faults;
                let fault: Option<FaultId> = faults.find(id);
                let reference = fault.map(Reference::Fault);
                reference.ok_or_else(|| missing(thing, "fault table", id, faults))
            }
            ["step", id] => Ok(Reference::Step(StepName::Id((*id).to_owned()))),
            ["step", verb, part, dimension] if *verb == Verb::Measure.word() => {
                let key = format!("{part}/{dimension}");
                Ok(Reference::Step(StepName::Action(Verb::Measure, key)))
            }
            ["step", verb, name] => {
                let Some(verb) = Verb::find(verb) else {
                    let known = Verb::ALL.iter().map(|verb| verb.word());
                    let message = format!("`{verb}` is not a verb that identifies a step");
                    let finding = unresolved_reference(thing.span, message);
                    let near = nearest(verb, known);
                    let target = near.map(|verb| format!("step/{verb}/{name}"));
                    let help =
                        "write `see:step/VERB/THING` with a verb of an action, or `see:step/ID`";
                    return Err(Box::new(
                        finding
                            .suggest(near, help)
                            .corrected(&thing.value, Near::address(near, target.as_deref())),
                    ));
                };
                Ok(Reference::Step(StepName::Action(verb, (*name).to_owned())))
            }
            ["figure", _, ..] => {
                let path = thing.value.trim_start_matches("figure/");
                let path = format!("figures/{path}");
                let figures = &self.directory.figures;
                let reference = figures.find(&path).map(Reference::Figure);
                reference.ok_or_else(|| missing(thing, "figure", &path, figures))
            }
            _ => {
                let message = format!("`see:{}` has no kind of target", thing.value);
                Err(Box::new(unresolved_reference(thing.span, message).help(
                    "it is `see:procedure/ID`, `see:fault/ID`, `see:step/ID`, \
                     `see:step/VERB/THING` or `see:figure/FILE`",
                )))
            }
        }
    }

    fn figure(&mut self, image: &Image) {
        match self.figure_file(&image.path) {
            Ok(figure) => self.figures.push((image.path.span, figure)),
            Err(finding) => self.findings.push(*finding),
        }
    }

    /// Finds a figure by a path that is relative to the file's folder.
    fn figure_file(&self, path: &Located<String>) -> Result<FigureFileId, Box<Finding>> {
        let mut parts: Vec<&str> = self.path.split('/').collect();
        // The file's name.
        parts.pop();
        for part in path.value.split('/') {
            match part {
                "" | "." => {}
                ".." => {
                    if parts.pop().is_none() {
                        return Err(outside(path));
                    }
                }
                part => parts.push(part),
            }
        }
        if path.value.starts_with('/') || path.value.contains([':', '\\']) {
            return Err(outside(path));
        }
        let wanted = parts.join("/");
        let figures = &self.directory.figures;
        figures.find(&wanted).ok_or_else(|| {
            let extension = wanted.rsplit_once('.').map(|(_, extension)| extension);
            let extension = extension.unwrap_or_default().to_ascii_lowercase();
            if !matches!(extension.as_str(), "svg" | "png" | "jpg" | "jpeg") {
                let message = format!("`{wanted}` has no format of a figure");
                return Box::new(
                    Finding::new(&rules::MISSING_FIGURE, message)
                        .primary(path.span, "")
                        .help("export it as SVG, PNG or JPEG, and name that file here"),
                );
            }
            let message = format!("there is no figure `{wanted}`");
            Box::new(
                Finding::new(&rules::MISSING_FIGURE, message)
                    .primary(path.span, "")
                    .suggest(
                        nearest(&wanted, figures.iter()),
                        "add the file, or correct its path",
                    ),
            )
        })
    }
}

fn unresolved_reference(span: Span, message: String) -> Finding {
    Finding::new(&rules::UNRESOLVED_REFERENCE, message).primary(span, "")
}

/// A finding about a reference to something that does not exist.
fn missing<T>(thing: &Located<String>, kind: &str, name: &str, keys: &Keys<'_, T>) -> Box<Finding> {
    let finding = unresolved_reference(thing.span, format!("there is no {kind} `{name}`"));
    let near = nearest(name, keys.iter());
    // A figure is referred to without its folder.
    let target = near.map(|near| match kind {
        "fault table" => format!("fault/{near}"),
        "figure" => near.name.replacen("figures/", "figure/", 1),
        _ => format!("{kind}/{near}"),
    });
    Box::new(
        finding
            .suggest(near, otherwise(keys))
            .corrected(&thing.value, Near::address(near, target.as_deref())),
    )
}

/// The help for a name that is near no known name.
fn otherwise<T>(keys: &Keys<'_, T>) -> String {
    let names: Vec<String> = keys.iter().take(4).map(|key| format!("`{key}`")).collect();
    match names.as_slice() {
        [] => "add its file first: there is none of this kind yet".to_owned(),
        [_, _, _, _] => {
            "use the id of one that exists: its file name without the extension".to_owned()
        }
        names => format!("use the id of one that exists: {}", names.join(", ")),
    }
}

fn outside(path: &Located<String>) -> Box<Finding> {
    let message = format!("figure `{}` is outside the sources folder", path.value);
    Box::new(
        Finding::new(&rules::FIGURE_OUTSIDE_SOURCES, message)
            .primary(path.span, "")
            .help("copy it into `figures/` and write its path as `../figures/…`"),
    )
}

#[cfg(test)]
mod tests {
    use crate::finding::{Findings, FindingsByFile};
    use crate::procedure;
    use crate::tree::{self, Memory};

    /// Reads a procedure with `front` in its front matter and the step `step`, and returns rule and message of
    /// each finding.
    fn findings_with(front: &str, step: &str) -> Vec<(&'static str, String)> {
        let machines = if front.starts_with("machines") {
            ""
        } else {
            "machines = [\"hand-pump\"]\n"
        };
        let cover = format!(
            "+++\ntitle = \"Cover\"\n{machines}{front}\n+++\nKeeps grit out.\n\n## Look\n\n1. {step}\n"
        );
        let other = "+++\ntitle = \"T\"\nmachines = [\"hand-pump\"]\n+++\n## Look\n\n1. Look.\n";
        let tree = tree::read(&Memory::new([
            ("shop.toml", "name = \"Shop\"".to_owned()),
            ("machines/hand-pump.toml", "name = \"Hand pump\"".to_owned()),
            ("air/cover.md", cover),
            ("air/plate.md", other.to_owned()),
            ("faults/no-water.md", other.to_owned()),
            ("figures/cover.svg", "<svg/>".to_owned()),
        ]));
        let mut by_file = FindingsByFile::default();
        procedure::read(&tree, &mut by_file);
        let mut findings = Findings::new();
        by_file.add_to(&mut findings);
        let findings = findings.iter();
        findings
            .map(|finding| (finding.rule.name, finding.message.clone()))
            .collect()
    }

    #[test]
    fn every_kind_of_name_is_resolved_or_reported() {
        let in_front = [
            ("machines = [\"NAME\"]", "hand-pump"),
            ("begin = [\"NAME\"]", "plate"),
            ("finish = [\"NAME\"]", "plate"),
            ("reverses = \"NAME\"", "plate"),
            ("follow-on = [\"NAME\"]", "plate"),
        ];
        let in_step = [
            ("Look. {only=\"NAME\"}", "hand-pump", "unknown-thing"),
            ("[](do:NAME)", "plate", "unknown-thing"),
            ("[](see:procedure/NAME)", "plate", "unresolved-reference"),
            ("[](see:fault/NAME)", "no-water", "unresolved-reference"),
            ("[](see:figure/NAME)", "cover.svg", "unresolved-reference"),
            ("[](see:step/NAME/cover)", "clean", "unresolved-reference"),
            ("[](see:NAME)", "procedure/plate", "unresolved-reference"),
            (
                "Look. ![it](../figures/NAME)",
                "cover.svg",
                "missing-figure",
            ),
            (
                "Look. ![it](NAME)",
                "../figures/cover.svg",
                "missing-figure",
            ),
        ];
        let cases = in_front
            .map(|(front, known)| (front, "Look.", known, "unknown-thing"))
            .into_iter()
            .chain(in_step.map(|(step, known, rule)| ("", step, known, rule)));
        for (front, step, known, rule) in cases {
            let findings_for = |name: &str| {
                findings_with(&front.replace("NAME", name), &step.replace("NAME", name))
            };
            let findings = findings_for(known);
            assert_eq!(findings, [], "{front}{step} rejects a known name");
            let findings = findings_for("nosuch");
            let rules: Vec<&str> = findings.iter().map(|(rule, _)| *rule).collect();
            assert_eq!(rules, [rule], "{front}{step}: {findings:?}");
        }
    }

    #[test]
    fn a_step_restricted_to_an_unknown_machine_is_on_no_machine() {
        let text =
            "+++\ntitle = \"T\"\nmachines = [\"a\"]\n+++\n## Look\n\n1. Look. {only=\"b\"}\n";
        let tree = tree::read(&Memory::new([
            ("machines/a.toml", "name = \"A\""),
            ("air/cover.md", text),
        ]));
        let procedures = procedure::read(&tree, &mut FindingsByFile::default());
        let machine = procedures[0].machines[0].value;
        assert!(procedures[0].steps().all(|step| !step.is_for(machine)));
    }
}
