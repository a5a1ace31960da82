//! Checks trees of one, two and four times a size, and compares the times.

use super::Amount;
use super::scene::{expect, finished, text_of, write};
use crate::TaskError;
use std::fmt::Write as _;
use std::path::Path;
use std::process::Command;

/// Makes the files of a tree, by path.
type Make = fn(usize) -> Vec<(String, String)>;

/// Kinds of input, each with its smallest size. Four times the size is still within the limits.
const KINDS: [(&str, usize, Make); 12] = [
    ("procedures", 1_000, |size| {
        let one = |index| {
            (
                format!("air/p{index}.md"),
                procedure(&format!("P{index}"), "", LOOK),
            )
        };
        (0..size).map(one).collect()
    }),
    ("machines of a procedure", 300, |size| {
        let mut ids = String::new();
        let mut files: Vec<(String, String)> = Vec::new();
        for index in 0..size {
            let _ = write!(ids, ", \"m{index}\"");
            files.push((format!("machines/m{index}.toml"), machine("")));
        }
        let text = procedure("All", "", LOOK).replace("\"pump\"", &format!("\"pump\"{ids}"));
        // A list may be written in lines.
        files.push(("air/all.md".to_owned(), text.replace(", \"", ",\n\"")));
        files
    }),
    ("lines of text", 40_000, |size| {
        vec![(
            "air/p.md".to_owned(),
            procedure("P", &"Text.\n\n".repeat(size), LOOK),
        )]
    }),
    ("lines of values", 3_000, |size| {
        vec![(
            "air/p.md".to_owned(),
            procedure("P", &"From 5 mm to 7 mm, 9 N·m.\n\n".repeat(size), LOOK),
        )]
    }),
    ("lines of TOML", 20_000, |size| {
        vec![("glossary.toml".to_owned(), "# A comment.\n".repeat(size))]
    }),
    ("unknown fields", 3_000, |size| {
        let fields = repeated(size, |index| format!("field-{index} = 1\n"));
        vec![("tools.toml".to_owned(), fields)]
    }),
    ("findings on a line", 100, |size| {
        let links = repeated(size, |index| format!("[x](inspect:p{index}) "));
        vec![(
            "air/p.md".to_owned(),
            procedure("P", "", &format!("1. {links}\n")),
        )]
    }),
    ("files with a fault", 300, |size| {
        let one = |index| {
            let text = procedure(&format!("P{index}"), "", "1. [](inspect:nothing)\n");
            (format!("air/p{index}.md"), text)
        };
        (0..size).map(one).collect()
    }),
    ("procedures in chains", 500, |size| {
        let one = |index: usize| {
            let next = index + 1;
            let begin = format!("begin = [\"p{next}\"]\n");
            let is_last = index % 20 == 19 || next == size;
            let text = procedure(&format!("P{index}"), "", LOOK);
            let text = if is_last {
                text
            } else {
                text.replacen("machines", &format!("{begin}machines"), 1)
            };
            (format!("air/p{index}.md"), text)
        };
        (0..size).map(one).collect()
    }),
    ("steps", 125, |size| {
        vec![(
            "air/p.md".to_owned(),
            procedure("P", "", &LOOK.repeat(size)),
        )]
    }),
    ("parts removed and refitted", 120, |size| {
        let parts = repeated(size, |index| {
            format!("[part.p{index}]\nname = \"plate {index}\"\n")
        });
        let steps = repeated(size, |index| format!("1. [](remove:p{index})\n"));
        let steps = format!("{steps}\n## Back {{.reverse}}\n");
        vec![
            ("machines/pump.toml".to_owned(), machine(&parts)),
            ("air/p.md".to_owned(), procedure("P", "", &steps)),
        ]
    }),
    ("figures", 250, |size| {
        let mut body = LOOK.to_owned();
        let mut files = Vec::new();
        for index in 0..size {
            let _ = write!(body, "\n![View {index}](../figures/f{index}.svg)\n");
            let drawing = format!(
                "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 100 80\"><path d=\"M0 0h50v{index}\"/></svg>"
            );
            files.push((format!("figures/f{index}.svg"), drawing));
        }
        files.push(("air/p.md".to_owned(), procedure("P", "", &body)));
        files
    }),
];

const LOOK: &str = "1. [](inspect:cover)\n";

fn procedure(title: &str, why: &str, steps: &str) -> String {
    format!("+++\ntitle = \"{title}\"\nmachines = [\"pump\"]\n+++\n{why}\n\n## Do\n\n{steps}")
}

/// The texts of all numbers below `size`.
fn repeated(size: usize, text: impl Fn(usize) -> String) -> String {
    (0..size).map(text).collect::<Vec<_>>().concat()
}

fn machine(parts: &str) -> String {
    format!("name = \"Pump\"\nbasis = \"invented\"\n[part.cover]\nname = \"cover\"\n{parts}")
}

/// The memory that a check may take, in KiB of addresses.
const MOST_MEMORY: usize = 2 << 20;

/// Checks each kind of tree in three sizes, and publishes the largest if everything is tried. Returns the number of
/// trees.
pub(super) fn measure(program: &Path, amount: Amount) -> Result<usize, TaskError> {
    let mut trees = 0;
    for (kind, size, make) in KINDS {
        let mut times = Vec::new();
        for times_size in [1, 2, 4] {
            let folder = tempfile::tempdir().map_err(|error| TaskError(error.to_string()))?;
            let tree = folder.path().join("tree");
            write(&tree.join("shop.toml"), "name = \"Elmbrook workshop\"\n")?;
            write(&tree.join("machines/pump.toml"), machine(""))?;
            for (path, text) in make(size * times_size) {
                write(&tree.join(path), text)?;
            }
            // The shortest of a few runs is the least disturbed.
            let runs = (0..amount.either(2, 5)).map(|_| time(program, &["check"], &tree));
            let runs: Result<Vec<u64>, TaskError> = runs.collect();
            times.push(runs?.into_iter().min().unwrap_or_default());
            if amount == Amount::All && times_size == 4 {
                let output = folder.path().join("output").to_string_lossy().into_owned();
                time(
                    program,
                    &["publish", "--html-only", "--output", &output],
                    &tree,
                )?;
            }
            trees += 1;
        }
        let [one, two, four] = times[..] else {
            continue;
        };
        // In proportion would be four times; the square would be sixteen times. The clock counts hundredths of a second.
        expect(two <= 3 * one + 10 && four <= 6 * one + 20, || {
            format!(
                "{kind}: {one}, {two} and {four} hundredths of a second at one, two and four times {size}"
            )
        })?;
    }
    Ok(trees)
}

/// The processor time of a run, in ticks of the system's clock, of which a second has a hundred.
fn time(program: &Path, command: &[&str], tree: &Path) -> Result<u64, TaskError> {
    let before = children()?;
    let mut limited = Command::new("sh");
    limited
        .args(["-c", "ulimit -v \"$0\" && exec timeout 60 \"$@\""])
        .arg(MOST_MEMORY.to_string())
        .arg(program)
        .args(command)
        .arg(tree);
    let made = finished(limited)?;
    expect(matches!(made.status.code(), Some(0 | 1)), || text_of(&made))?;
    Ok(children()? - before)
}

/// The processor time of all children of this process that have ended: proc(5), fields 16 and 17 of `stat`.
fn children() -> Result<u64, TaskError> {
    let stat = super::scene::read(Path::new("/proc/self/stat"))?;
    // The second field, the name, may contain spaces.
    let (_, rest) = stat.rsplit_once(')').unwrap_or_default();
    let fields = rest.split_whitespace().skip(13).take(2);
    Ok(fields.filter_map(|field| field.parse::<u64>().ok()).sum())
}
