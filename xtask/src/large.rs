//! Generates a large tree for benchmarks from copies of the demonstration shop.

use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::Path;

/// The number of copies of each machine.
const COPIES: usize = 2;

/// Writes a tree with about this number of procedures, each on two machines, into a folder.
///
/// Every procedure is a renamed copy of one in the demonstration, so that its prose, parts and
/// references are realistic. The procedures that all others refer to (making safe, the test run) exist
/// once, for all machines. The same number gives the same tree.
pub(crate) fn write(demo: &Path, procedures: usize, to: &Path) -> io::Result<()> {
    let mut written = 0;
    let mut sources: Vec<(String, String, String)> = Vec::new();
    for folder in sorted(demo)? {
        let name = name(&folder);
        if !folder.is_dir() {
            let text = fs::read(&folder)?;
            put(&to.join(&name), &text)?;
            continue;
        }
        for file in sorted(&folder)? {
            let id = file
                .file_stem()
                .unwrap_or_default()
                .to_string_lossy()
                .into_owned();
            match name.as_str() {
                "machines" => {
                    let text = fs::read_to_string(&file)?;
                    for copy in 0..COPIES {
                        let to = to.join(&name).join(format!("{}.toml", machine(&id, copy)));
                        let text = text.replacen("name = \"", &format!("name = \"{copy}: "), 1);
                        put(&to, text.as_bytes())?;
                    }
                }
                "figures" => {
                    let bytes = fs::read(&file)?;
                    put(&to.join(&name).join(self::name(&file)), &bytes)?;
                }
                // Fault tables refer to the originals, which are written too.
                _ => sources.push((name.clone(), id, fs::read_to_string(&file)?)),
            }
        }
    }
    for (folder, id, text) in &sources {
        let path = to.join(folder).join(format!("{id}.md"));
        put(&path, for_machines(text, all_copies).as_bytes())?;
        written += 1;
    }
    let jobs: Vec<_> = sources
        .iter()
        .filter(|(folder, id, _)| {
            folder != "faults" && !["make-safe", "test-run"].contains(&id.as_str())
        })
        .collect();
    let mut index = 0;
    while written < procedures {
        let (folder, id, text) = jobs[index % jobs.len()];
        let round = index / jobs.len();
        // Each procedure has two machines: both copies of a machine of the original.
        let text = for_machines(text, |ids| {
            let machine = round % ids.len();
            all_copies(&ids[machine..=machine])
        });
        let text = text.replacen("title = \"", &format!("title = \"No. {round}, "), 1);
        put(
            &to.join(folder).join(format!("{id}-{round}.md")),
            text.as_bytes(),
        )?;
        written += 1;
        index += 1;
    }
    Ok(())
}

fn machine(id: &str, copy: usize) -> String {
    format!("{id}-n{copy}")
}

fn all_copies(ids: &[String]) -> Vec<String> {
    let copies = ids
        .iter()
        .flat_map(|id| (0..COPIES).map(|copy| machine(id, copy)));
    copies.collect()
}

/// Replaces the machines in a procedure's text: its list of machines, and the `only` of its steps.
fn for_machines(text: &str, replace: impl Fn(&[String]) -> Vec<String>) -> String {
    let mut lines = Vec::new();
    for line in text.lines() {
        if line.starts_with("machines = [") {
            let ids: Vec<String> = line
                .split('"')
                .skip(1)
                .step_by(2)
                .map(str::to_owned)
                .collect();
            let quoted: Vec<String> = replace(&ids).iter().map(|id| format!("\"{id}\"")).collect();
            lines.push(format!("machines = [{}]", quoted.join(", ")));
        } else if let Some((before, rest)) = line.split_once("{only=\"") {
            let (ids, after) = rest.split_once('"').unwrap_or((rest, ""));
            let ids: Vec<String> = ids.split(' ').map(str::to_owned).collect();
            lines.push(format!(
                "{before}{{only=\"{}\"{after}",
                all_copies(&ids).join(" ")
            ));
        } else {
            lines.push(line.to_owned());
        }
    }
    lines.join("\n") + "\n"
}

fn sorted(folder: &Path) -> io::Result<Vec<std::path::PathBuf>> {
    let mut paths: BTreeMap<String, std::path::PathBuf> = BTreeMap::new();
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        paths.insert(name(&path), path);
    }
    Ok(paths.into_values().collect())
}

fn name(path: &Path) -> String {
    path.file_name()
        .unwrap_or_default()
        .to_string_lossy()
        .into_owned()
}

fn put(path: &Path, bytes: &[u8]) -> io::Result<()> {
    if let Some(folder) = path.parent() {
        fs::create_dir_all(folder)?;
    }
    fs::write(path, bytes)
}
