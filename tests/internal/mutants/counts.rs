//! Mutation test of the counts that are typed in steps. In each procedure of the demonstration and of the
//! correct shops, an action on parts that are several gets a text that counts them: the right count must be quiet, and another one must be found.

use super::super::support::{files, root};
use crate::finding::{Findings, FindingsByFile, Span};
use crate::procedure::{self, Procedure};
use crate::prose::{ActionLink, ThingKind};
use crate::shop::Part;
use crate::tree::{self, Memory};
use crate::words::Words;
use crate::{Sources, rules};
use rayon::prelude::*;
use std::collections::BTreeSet;

/// How the author of a shop counts.
struct Language {
    /// From two on.
    numbers: [&'static str; 11],
    /// Texts with `{number}` and `{nouns}`. The address of the action follows.
    all: [&'static str; 2],
    /// A text that may count some of the parts. The comma begins a clause.
    some: &'static str,
    both: &'static str,
}

const ENGLISH: Language = Language {
    numbers: [
        "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
    ],
    all: [
        "[See to all {number} {nouns}](",
        "See to the {number} [{nouns}](",
    ],
    some: ", [{number} {nouns}](",
    both: "[See to both {nouns}](",
};

const SPANISH: Language = Language {
    numbers: [
        "dos", "tres", "cuatro", "cinco", "seis", "siete", "ocho", "nueve", "diez", "once", "doce",
    ],
    all: [
        "[Revise las {number} {nouns}](",
        "Revise los {number} [{nouns}](",
    ],
    some: ", [{number} {nouns}](",
    both: "[Revise ambas {nouns}](",
};

/// The shops: the demonstration, and those of `tests/correct`.
const SHOPS: [(&str, &Language); 6] = [
    ("procedures", &ENGLISH),
    ("tests/correct/fennmoor-ring", &ENGLISH),
    ("tests/correct/hollin-park", &ENGLISH),
    ("tests/correct/quarry-lane", &ENGLISH),
    ("tests/correct/skerry-estate", &ENGLISH),
    ("tests/correct/vega-alta", &SPANISH),
];

/// The plural of a part's name, or in Spanish of its noun, which is the first word.
fn plural(language: &Language, name: &str) -> String {
    let name = name.split([',', '(']).next().unwrap().trim();
    let name = name.split(" with ").next().unwrap();
    if std::ptr::eq(language, &ENGLISH) {
        return Words::english().counted(name, 2).into_owned();
    }
    let noun = name.split(' ').next().unwrap();
    match noun.strip_suffix("ón") {
        Some(stem) => format!("{stem}ones"),
        None if noun.ends_with(['a', 'e', 'i', 'o', 'u']) => format!("{noun}s"),
        None => format!("{noun}es"),
    }
}

/// A text of an action, and whether its count is right.
struct Mutant {
    path: String,
    /// The action with its text.
    span: Span,
    text: String,
    is_right: bool,
}

/// The ways in which an author counts parts.
fn counted(language: &Language, part: &Part, count: u32) -> Vec<String> {
    let nouns = plural(language, &part.name);
    let word = language.numbers.get(count as usize - 2);
    let word = word.map(|word| (*word).to_owned()).into_iter();
    let texts = word.chain([count.to_string()]).flat_map(|number| {
        // A smaller number may be some of them.
        let some = (count >= part.count).then_some(&language.some);
        let texts = language.all.iter().chain(some);
        texts.map(move |text| text.replace("{number}", &number))
    });
    let both = (count == 2).then(|| language.both.to_owned());
    texts
        .chain(both)
        .map(|text| text.replace("{nouns}", &nouns))
        .collect()
}

/// The mutants of an action: the right count, one more and one less.
fn mutants_of(
    language: &Language,
    procedure: &Procedure,
    action: &ActionLink,
    part: &Part,
    address: &str,
) -> Vec<Mutant> {
    let counts = [part.count, part.count + 1, part.count - 1];
    let counts = counts.into_iter().filter(|count| *count > 1);
    let texts = counts.flat_map(|count| {
        let texts = counted(language, part, count).into_iter();
        texts.map(move |text| (text, count == part.count))
    });
    texts
        .map(|(text, is_right)| Mutant {
            path: procedure.path.clone(),
            span: action.span,
            text: format!("{text}{address})"),
            is_right,
        })
        .collect()
}

fn mutants(language: &Language, sources: &Sources) -> Vec<Mutant> {
    let mut mutants = Vec::new();
    for procedure in &sources.procedures {
        // One action on each part is enough.
        let mut parts_seen = BTreeSet::new();
        let steps = procedure.steps();
        for (step, action) in
            steps.flat_map(|step| step.actions().map(move |action| (step, action)))
        {
            let machines = procedure.machines.iter().filter(|id| step.is_for(id.value));
            let mut parts = machines.filter_map(|id| {
                let name = action.thing.value.split('/').next()?;
                sources.shop.machines[id.value].parts.get(name)
            });
            let part = parts
                .next()
                .filter(|part| action.verb.takes() == ThingKind::Part && part.count > 1);
            // The same name can be of other parts on another machine.
            let is_same = |other: &Part| {
                part.is_some_and(|part| part.count == other.count && part.name == other.name)
            };
            if let Some(part) = part
                && parts.all(is_same)
                && parts_seen.insert(part.key.as_str())
            {
                let written = sources.tree.text(action.span);
                let Some((_, address)) = written.split_once("](") else {
                    continue;
                };
                mutants.extend(mutants_of(
                    language,
                    procedure,
                    action,
                    part,
                    address.trim_end_matches(')'),
                ));
            }
        }
    }
    mutants
}

/// The number of findings about counts in a mutated procedure. All other files are empty, because the shop is read
/// already, and only the text of the procedure is judged.
fn found(sources: &Sources, mutant: &Mutant) -> usize {
    let texts = sources.tree.files.iter().map(|file| {
        let mut text = String::new();
        if file.path == mutant.path {
            text.clone_from(&file.text);
            text.replace_range(mutant.span.range(), &mutant.text);
        }
        (file.path.clone(), text)
    });
    let tree = tree::read(&Memory::new(texts));
    let procedures = procedure::read(&tree, &mut FindingsByFile::default());
    let mut findings = Findings::new();
    rules::judge_text(&tree, &sources.shop, &procedures, &[], &mut findings);
    let findings = findings.iter();
    let of_rule = findings.filter(|finding| finding.rule.name == "value-contradicts-machine");
    of_rule.count()
}

/// Returns the numbers of right and of wrong counts.
fn check(name: &str, language: &Language) -> (usize, usize) {
    let world = files(&root().join(name));
    let sources = crate::read(&Memory::new(world));
    let mutants = mutants(language, &sources);
    let is_judged_wrong = |mutant: &&Mutant| (found(&sources, mutant) == 0) != mutant.is_right;
    let failures: Vec<String> = mutants
        .par_iter()
        .filter(is_judged_wrong)
        .map(|mutant| format!("{name}/{}: {}", mutant.path, mutant.text))
        .collect();
    assert!(failures.is_empty(), "{}", failures.join("\n"));
    let right = mutants.iter().filter(|mutant| mutant.is_right).count();
    (right, mutants.len() - right)
}

#[test]
#[allow(clippy::print_stdout, reason = "the figures are a result of the test")]
fn wrong_counts_in_steps_are_found_and_right_ones_are_not() {
    let (mut right, mut wrong) = (0, 0);
    for (name, language) in SHOPS {
        let counted = check(name, language);
        right += counted.0;
        wrong += counted.1;
    }
    println!("{right} right counts are quiet, {wrong} wrong ones are found");
    assert!(right > 100 && wrong > 100);
}
