//! Reads the order of the chapters, and of the procedures in them.

use super::super::fields::{shop, system};
use super::super::{Shop, System, rules};
use super::fields::owned;
use crate::finding::{Finding, Findings, Located, nearest};
use crate::record::Record;
use crate::tree::{SourceKind, Tree};
use std::collections::BTreeMap;

/// The folders of a tree's procedures, each with the ids of its procedures, by name.
pub(super) struct Folders<'t> {
    by_name: BTreeMap<&'t str, Vec<&'t str>>,
}

impl<'t> Folders<'t> {
    pub(super) fn of(tree: &'t Tree) -> Folders<'t> {
        let mut by_name: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
        for file in &tree.files {
            if let SourceKind::Procedure { system, id } = &file.kind {
                by_name.entry(system).or_default().push(id);
            }
        }
        Folders { by_name }
    }

    fn procedures_of(&self, folder: &str) -> &[&'t str] {
        self.by_name.get(folder).map_or(&[], Vec::as_slice)
    }

    /// The folder that has a procedure.
    fn folder_of(&self, procedure: &str) -> Option<&'t str> {
        let mut folders = self.by_name.iter();
        let found = folders.find(|(_, procedures)| procedures.contains(&procedure));
        found.map(|(folder, _)| *folder)
    }
}

/// Reads the order of the chapters. Names of folders without procedures are left out, and so are repeats.
pub(super) fn read_chapters(
    top: &Record<'_, Shop>,
    folders: &Folders<'_>,
    findings: &mut Findings,
) -> Vec<String> {
    let mut chapters: Vec<Located<String>> = Vec::new();
    let names = top.texts(shop::CHAPTERS, findings);
    for name in &names {
        if folders.procedures_of(&name.value).is_empty() {
            let message = format!(
                "`chapters` names `{}`, which is no folder with procedures",
                name.value
            );
            let near = nearest(&name.value, folders.by_name.keys().copied());
            findings.push(
                Finding::new(&rules::UNKNOWN_NAME, message)
                    .primary(name.span, "")
                    .suggest(
                        near,
                        "use the name of a folder with procedures, or remove it",
                    )
                    .corrected(&name.value, near),
            );
        } else {
            push_new(&mut chapters, name, "chapters", findings);
        }
    }
    let listed = |folder: &str| chapters.iter().any(|chapter| chapter.value == folder);
    let missing = folders.by_name.keys().filter(|folder| !listed(folder));
    let missing: Vec<String> = missing.map(|folder| format!("`{folder}`")).collect();
    // A name that could not be resolved may stand for a missing one.
    if let Some(last) = names.last().filter(|_| chapters.len() == names.len())
        && !missing.is_empty()
    {
        let (noun, verb) = match missing.len() {
            1 => ("folder", "comes"),
            _ => ("folders", "come"),
        };
        let missing = missing.join(", ");
        findings.push(
            Finding::new(
                &rules::CHAPTER_NOT_LISTED,
                format!("`chapters` does not name the {noun} {missing}"),
            )
            .primary(last.span, format!("{missing} {verb} after this"))
            .help("name them where the shop reads them"),
        );
    }
    chapters.into_iter().map(|chapter| chapter.value).collect()
}

/// Reads a chapter. Names of procedures that are not in its folder are left out of its order, and so are repeats.
pub(super) fn read_system(
    system: &Record<'_, System>,
    folders: &Folders<'_>,
    findings: &mut Findings,
) -> System {
    let folder = system.key();
    let title = owned(system.text(system::TITLE, findings));
    let mut procedures: Vec<Located<String>> = Vec::new();
    for name in system.texts(system::PROCEDURES, findings) {
        if folders.procedures_of(folder).contains(&name.value.as_str()) {
            push_new(&mut procedures, &name, "procedures", findings);
        } else {
            findings.push(unknown_procedure(folder, &name, folders));
        }
    }
    System {
        title,
        procedures: procedures.into_iter().map(|name| name.value).collect(),
    }
}

fn unknown_procedure(folder: &str, name: &Located<String>, folders: &Folders<'_>) -> Finding {
    let id = &name.value;
    let message = format!("system `{folder}` names `{id}`, which is no procedure of its folder");
    let finding = Finding::new(&rules::UNKNOWN_NAME, message).primary(name.span, "");
    if let Some(other) = folders.folder_of(id) {
        return finding.help(format!(
            "it is in the folder `{other}`: name it under `[system.{other}]`, or move the file"
        ));
    }
    let near = nearest(id, folders.procedures_of(folder).iter().copied());
    finding
        .suggest(
            near,
            "use the id of a procedure of this folder: its file name without the extension",
        )
        .corrected(id, near)
}

/// Adds a name to a list, unless it is in it. Then it is reported.
fn push_new(
    list: &mut Vec<Located<String>>,
    name: &Located<String>,
    field: &str,
    findings: &mut Findings,
) {
    let Some(first) = list.iter().find(|listed| listed.value == name.value) else {
        list.push(name.clone());
        return;
    };
    let message = format!("`{}` is listed twice in `{field}`", name.value);
    findings.push(
        Finding::new(&rules::LISTED_TWICE, message)
            .primary(name.span, "")
            .secondary(first.span, "it is here already")
            .help("name it once, in its place"),
    );
}

#[cfg(test)]
mod tests {
    use crate::finding::{Findings, FindingsByFile};
    use crate::tree::{self, Memory};

    /// Reads a shop whose file ends with some lines. Returns the order of the folders and procedures, and the findings, each
    /// with its help.
    fn read(lines: &str) -> (Vec<String>, Vec<String>) {
        let procedure = "+++\ntitle = \"T\"\nmachines = []\n+++\n";
        let names = [
            "air/cover",
            "air/element",
            "fuel/drain",
            "fuel/bowl",
            "safety/safe",
        ];
        let files = names.map(|name| (format!("{name}.md"), procedure.to_owned()));
        let shop = ("shop.toml".to_owned(), format!("name = \"Shop\"\n{lines}"));
        let tree = tree::read(&Memory::new(files.into_iter().chain([shop])));
        let mut by_file = FindingsByFile::default();
        let shop = crate::shop::read(&tree, &mut by_file);
        let mut findings = Findings::new();
        by_file.add_to(&mut findings);
        let mut order: Vec<(&str, &str)> = names
            .iter()
            .filter_map(|name| name.split_once('/'))
            .collect();
        order.sort_by_key(|(folder, id)| {
            (
                shop.chapter_place(folder),
                shop.procedure_place(folder, id),
                *id,
            )
        });
        let order = order.iter().map(|(folder, id)| format!("{folder}/{id}"));
        let findings = findings.iter().map(|finding| {
            let help = finding.help.as_deref().unwrap_or_default();
            format!("{}: {}; {help}", finding.rule.name, finding.message)
        });
        (order.collect(), findings.collect())
    }

    const BY_NAME: [&str; 5] = [
        "air/cover",
        "air/element",
        "fuel/bowl",
        "fuel/drain",
        "safety/safe",
    ];

    #[test]
    fn the_order_is_that_of_the_lists_then_of_the_tables_then_by_name() {
        let fuel = "[system.fuel]\ntitle = \"Fuel\"\n";
        let cases: [(&str, [&str; 5]); 7] = [
            ("", BY_NAME),
            (
                fuel,
                [
                    "fuel/bowl",
                    "fuel/drain",
                    "air/cover",
                    "air/element",
                    "safety/safe",
                ],
            ),
            (
                &format!("{fuel}procedures = [\"drain\", \"bowl\"]\n"),
                [
                    "fuel/drain",
                    "fuel/bowl",
                    "air/cover",
                    "air/element",
                    "safety/safe",
                ],
            ),
            (
                &format!("{fuel}procedures = [\"drain\"]\n"),
                [
                    "fuel/drain",
                    "fuel/bowl",
                    "air/cover",
                    "air/element",
                    "safety/safe",
                ],
            ),
            (
                "chapters = [\"safety\", \"fuel\", \"air\"]\n",
                [
                    "safety/safe",
                    "fuel/bowl",
                    "fuel/drain",
                    "air/cover",
                    "air/element",
                ],
            ),
            (
                &format!("chapters = [\"safety\", \"air\", \"fuel\"]\n{fuel}"),
                [
                    "safety/safe",
                    "air/cover",
                    "air/element",
                    "fuel/bowl",
                    "fuel/drain",
                ],
            ),
            (
                "chapters = [\"fuel\", \"air\", \"safety\"]\n[system.air]\ntitle = \"Air\"\n\
                     procedures = [\"element\", \"cover\"]\n",
                [
                    "fuel/bowl",
                    "fuel/drain",
                    "air/element",
                    "air/cover",
                    "safety/safe",
                ],
            ),
        ];
        for (lines, expected) in cases {
            let (order, findings) = read(lines);
            assert_eq!(findings, [""; 0], "{lines}");
            assert_eq!(order, expected, "{lines}");
        }
    }

    #[test]
    fn what_is_wrong_in_a_list_is_reported_and_left_out() {
        let fuel = "[system.fuel]\ntitle = \"Fuel\"\n";
        let cases = [
            (
                "chapters = [\"saftey\", \"fuel\", \"air\"]".to_owned(),
                "unknown-name: `chapters` names `saftey`, which is no folder with procedures; \
                 did you mean `safety`?",
            ),
            (
                "chapters = [\"safety\", \"machines\", \"fuel\", \"air\"]".to_owned(),
                "unknown-name: `chapters` names `machines`, which is no folder with procedures; \
                 use the name of a folder with procedures, or remove it",
            ),
            (
                "chapters = [\"safety\", \"fuel\", \"air\", \"fuel\"]".to_owned(),
                "listed-twice: `fuel` is listed twice in `chapters`; name it once, in its place",
            ),
            (
                "chapters = [\"safety\", \"fuel\"]".to_owned(),
                "chapter-not-listed: `chapters` does not name the folder `air`; \
                 name them where the shop reads them",
            ),
            (
                "chapters = \"safety\"".to_owned(),
                "chapter-not-listed: `chapters` does not name the folders `air`, `fuel`; \
                 name them where the shop reads them",
            ),
            (
                format!("{fuel}procedures = [\"drian\", \"bowl\"]"),
                "unknown-name: system `fuel` names `drian`, which is no procedure of its folder; \
                 did you mean `drain`?",
            ),
            (
                format!("{fuel}procedures = [\"cover\"]"),
                "unknown-name: system `fuel` names `cover`, which is no procedure of its folder; \
                 it is in the folder `air`: name it under `[system.air]`, or move the file",
            ),
            (
                format!("{fuel}procedures = [\"carburettor\"]"),
                "unknown-name: system `fuel` names `carburettor`, which is no procedure of its folder; \
                 use the id of a procedure of this folder: its file name without the extension",
            ),
            (
                format!("{fuel}procedures = [\"bowl\", \"drain\", \"bowl\"]"),
                "listed-twice: `bowl` is listed twice in `procedures`; name it once, in its place",
            ),
            (
                format!("{fuel}procedures = []"),
                "missing-field: `procedures` of system `fuel` is empty; \
                 name at least one, or leave the field out",
            ),
        ];
        for (lines, expected) in cases {
            let (order, findings) = read(&lines);
            assert_eq!(findings, [expected], "{lines}");
            assert_eq!(order.len(), BY_NAME.len());
        }
    }
}
