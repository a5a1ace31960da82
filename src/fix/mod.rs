//! Applies the edits of findings to the sources.
//!
//! **In**: a world of files. **Out**: the new texts of some files. An edit is applied only if the finding is then gone and
//! the sources are not worse for it, which a check of the edited sources shows. Nothing is written here.

mod diff;
mod worse;

use crate::finding::{Edit, Finding, Findings};
use crate::trade::Day;
use crate::tree::{Overlay, Tree, World};
use crate::{Sources, check_at, read};
pub(crate) use diff::unified_diff;
use std::collections::{BTreeMap, BTreeSet};
use worse::is_better;

/// How often the sources are checked for further edits: one edit can show what another fault was hiding.
const MOST_ROUNDS: usize = 20;

/// How many edits of one round are tried singly, if all together do not make the sources better.
const MOST_SINGLE: usize = 200;

/// The result of applying edits.
pub(crate) struct Fixed {
    /// The text before and after of each file that changes, by its path from the tree's root. Without byte order marks.
    pub(crate) files: BTreeMap<String, (String, String)>,
    /// How many findings were corrected.
    pub(crate) applied: usize,
    /// How many findings have edits that would have made the sources worse.
    pub(crate) refused: usize,
    /// The sources with the edits.
    pub(crate) sources: Sources,
    /// What is found in them.
    pub(crate) findings: Findings,
}

/// Applies all edits that make the sources better, until there are none left.
pub(crate) fn fix(world: &dyn World, on: Option<Day>) -> Fixed {
    let mut overlay = Overlay::new(world, BTreeMap::new());
    let mut sources = read(&overlay);
    let mut findings = check_at(&sources, on).findings;
    let original: BTreeMap<String, String> = texts(&sources.tree);
    let (mut applied, mut refused) = (0, BTreeSet::new());
    for _ in 0..MOST_ROUNDS {
        let chosen = choose(&sources.tree, &findings, &refused);
        if chosen.is_empty() {
            break;
        }
        let before = State {
            sources: &sources,
            findings: &findings,
        };
        let batch = before.with(&overlay, &chosen, on);
        let (next, count) = match batch {
            Some(next) => (Some(next), chosen.len()),
            None => before.one_by_one(&overlay, &chosen, on, &mut refused),
        };
        let Some(next) = next else { continue };
        applied += count;
        overlay = next.overlay;
        sources = next.sources;
        findings = next.findings;
    }
    let files = texts(&sources.tree).into_iter().filter_map(|(path, text)| {
        let before = original.get(&path)?;
        (*before != text).then(|| (path, (before.clone(), text)))
    });
    Fixed {
        files: files.collect(),
        applied,
        refused: refused.len(),
        sources,
        findings,
    }
}

fn texts(tree: &Tree) -> BTreeMap<String, String> {
    let files = tree.files.iter();
    files
        .map(|file| (file.path.clone(), file.text.clone()))
        .collect()
}

/// What identifies a finding whose edits were refused, as long as its file is not edited.
type Refused = (&'static str, String, Vec<Edit>);

fn refusal(finding: &Finding) -> Refused {
    (
        finding.rule.name,
        finding.message.clone(),
        finding.edits.clone(),
    )
}

/// The findings whose edits can be applied together, because they do not touch. Of those that do, the first is chosen.
fn choose<'f>(
    tree: &Tree,
    findings: &'f Findings,
    refused: &BTreeSet<Refused>,
) -> Vec<&'f Finding> {
    let mut taken: Vec<&Edit> = Vec::new();
    let mut chosen = Vec::new();
    for finding in findings {
        let touches = |edit: &&Edit| {
            taken.iter().any(|other| {
                other.span.file == edit.span.file
                    && other.span.start() <= edit.span.end()
                    && edit.span.start() <= other.span.end()
            })
        };
        let is_free = !finding.edits.iter().any(|edit| touches(&edit));
        // An edit that changes nothing would be applied for ever.
        let changes = |edit: &Edit| tree.text(edit.span) != edit.replacement;
        let is_edit = finding.edits.iter().any(changes);
        if is_free && is_edit && !refused.contains(&refusal(finding)) {
            taken.extend(&finding.edits);
            chosen.push(finding);
        }
    }
    chosen
}

/// Some sources with their findings.
struct State<'s> {
    sources: &'s Sources,
    findings: &'s Findings,
}

/// The sources after some edits.
struct Next<'w> {
    overlay: Overlay<&'w dyn World>,
    sources: Sources,
    findings: Findings,
}

impl State<'_> {
    /// The sources with the edits of some findings. `None` if that does not make them better.
    fn with<'w>(
        &self,
        overlay: &Overlay<&'w dyn World>,
        chosen: &[&Finding],
        on: Option<Day>,
    ) -> Option<Next<'w>> {
        let edits = chosen.iter().flat_map(|finding| &finding.edits);
        let edits: Vec<Edit> = edits.cloned().collect();
        let mut overlay = overlay.clone();
        for file in &self.sources.tree.files {
            if let Some(text) = Edit::apply(&edits, file.id, &file.text) {
                overlay.set(&file.path, text);
            }
        }
        let sources = read(&overlay);
        let findings = check_at(&sources, on).findings;
        let next = Next {
            overlay,
            sources,
            findings,
        };
        is_better(self.findings, chosen, &next.sources.tree, &next.findings).then_some(next)
    }

    /// Tries the edits of each finding alone, and keeps the first that make the sources better. Adds the others before it to
    /// those that are refused.
    fn one_by_one<'w>(
        &self,
        overlay: &Overlay<&'w dyn World>,
        chosen: &[&Finding],
        on: Option<Day>,
        refused: &mut BTreeSet<Refused>,
    ) -> (Option<Next<'w>>, usize) {
        let mut good: Vec<&Finding> = Vec::new();
        let mut best = None;
        for (index, finding) in chosen.iter().enumerate() {
            if index >= MOST_SINGLE {
                break;
            }
            good.push(finding);
            if let Some(next) = self.with(overlay, &good, on) {
                best = Some(next);
            } else {
                good.pop();
                refused.insert(refusal(finding));
            }
        }
        (best, good.len())
    }
}
