//! Reads the legends of figures.

use super::super::fields::{callout, legend};
use super::super::{Callout, Legend, Machine, MachineId, Records, rules};
use super::fields::{machine_named, owned, read_file};
use crate::finding::{Finding, Findings, Located};
use crate::record::{Field, Many, Name, Named, Record, check_file_id};
use crate::tree::{Source, SourceKind, Tree};

/// Reads the legends of all figures. The machines have been read.
pub(super) fn read_legends(
    tree: &Tree,
    machines: &Records<Machine>,
    findings: &mut Findings,
) -> Records<Legend> {
    let mut legends = Records::default();
    for file in &tree.files {
        if let SourceKind::Figure { id } = &file.kind {
            let mut legend = None;
            read_file(file, findings, |top, findings| {
                check_file_id(id, file.span(0..0), findings);
                legend = Some(read_legend(tree, file, id, machines, top, findings));
            });
            if let Some(legend) = legend {
                legends.add(id.clone(), |_| legend);
            }
        }
    }
    legends
}

fn read_legend(
    tree: &Tree,
    file: &Source,
    key: &str,
    machines: &Records<Machine>,
    top: &mut Record<'_, Legend>,
    findings: &mut Findings,
) -> Legend {
    let of_figure = named_machines(top, legend::MACHINES, machines, findings);
    let mut callouts = Vec::new();
    top.records(legend::CALLOUT, findings, |_, record, findings| {
        let callout = read_callout(record, machines, findings);
        for id in &callout.machines {
            if !of_figure.iter().any(|machine| machine.value == id.value) {
                let message = format!(
                    "{} is for `{}`, and the figure is not",
                    record.what(),
                    machines[id.value].id
                );
                findings.push(
                    Finding::new(&rules::CONFLICTING_FIELDS, message)
                        .primary(id.span, "")
                        .help(
                            "add the machine to the `machines` of the figure, or leave it out here",
                        ),
                );
            }
        }
        callouts.push(callout.clone());
        callout
    });
    callouts.sort_by_key(|callout| callout.number.as_ref().map(|number| number.value));
    Legend {
        key: key.to_owned(),
        file: file.id,
        title: owned(top.text(legend::TITLE, findings)),
        machines: of_figure,
        assembly: top.texts(legend::ASSEMBLY, findings),
        picture: picture(tree, file, key, findings),
        callouts,
    }
}

fn read_callout(
    record: &Record<'_, Callout>,
    machines: &Records<Machine>,
    findings: &mut Findings,
) -> Callout {
    Callout {
        key: Located {
            value: record.key().to_owned(),
            span: record.span(),
        },
        number: record.count(callout::NUMBER, findings),
        places: record.texts(callout::PLACE, findings),
        machines: named_machines(record, callout::MACHINES, machines, findings),
    }
}

/// The machines that a field names.
fn named_machines<K, T: Named>(
    record: &Record<'_, K>,
    field: &Field<K, Many<Name<T>>>,
    machines: &Records<Machine>,
    findings: &mut Findings,
) -> Vec<Located<MachineId>> {
    let names = record.texts(field, findings).into_iter();
    names
        .filter_map(|name| {
            let id = machine_named(&name, record.what(), machines, findings)?;
            Some(name.with(id))
        })
        .collect()
}

/// The path of the drawing or photograph beside a legend. Reports a legend without one, or with several.
fn picture(tree: &Tree, file: &Source, key: &str, findings: &mut Findings) -> Option<String> {
    let stem = format!("figures/{key}.");
    let figures = tree.figures.iter();
    let pictures: Vec<&str> = figures
        .map(|figure| figure.path.as_str())
        .filter(|path| {
            let rest = path.strip_prefix(&stem);
            rest.is_some_and(|extension| !extension.contains(['.', '/']))
        })
        .collect();
    let start = file.span(0..file.text.lines().next().map_or(0, str::len));
    match pictures.as_slice() {
        [path] => Some((*path).to_owned()),
        [] => {
            let message = format!("`{}` has no drawing or photograph beside it", file.path);
            findings.push(
                Finding::new(&rules::LEGEND_WITHOUT_PICTURE, message)
                    .primary(start, "")
                    .help(format!(
                        "add `{stem}svg`, `{stem}png` or `{stem}jpg`, or rename the file"
                    )),
            );
            None
        }
        [first, second, ..] => {
            let message = format!("`{}` is beside both `{first}` and `{second}`", file.path);
            findings.push(
                Finding::new(&rules::LEGEND_WITHOUT_PICTURE, message)
                    .primary(start, "")
                    .help("rename one of them: a legend is for one figure"),
            );
            None
        }
    }
}
