//! Mutation test of intervals: each form with a letter dropped, doubled or replaced, and with a word dropped. A mutant must
//! be no interval, or read as the same one.

use crate::words::{UnreadInterval, Words, languages};

/// The forms in British English. Others are printed from them.
const FORMS: [&str; 14] = [
    "every 50 h",
    "daily",
    "every 10 days",
    "every 6 weeks",
    "monthly",
    "every 12 months",
    "yearly",
    "yearly, in October",
    "before each use",
    "during each use",
    "after each use",
    "every day of use",
    "once after 8 h",
    "first after 5 h, then every 50 h or yearly",
];

fn mutants(form: &str) -> Vec<String> {
    let mut mutants = Vec::new();
    let letters = form
        .char_indices()
        .filter(|(_, letter)| letter.is_alphabetic());
    for (at, letter) in letters {
        let (before, after) = (&form[..at], &form[at + letter.len_utf8()..]);
        mutants.push(format!("{before}{after}"));
        mutants.push(format!("{before}{letter}{letter}{after}"));
        mutants.push(format!("{before}k{after}"));
    }
    let words: Vec<&str> = form.split(' ').collect();
    for index in 0..words.len() {
        let mut rest = words.clone();
        rest.remove(index);
        mutants.push(rest.join(" "));
    }
    mutants.retain(|mutant| mutant != form);
    mutants
}

#[test]
fn no_mutant_of_an_interval_reads_as_another_one() {
    let english = Words::english();
    let (mut all, mut same) = (0, 0);
    let mut missed = Vec::new();
    for language in languages() {
        let words = Words::of(language).expect("a language");
        for form in FORMS {
            let interval = english.read_interval(form).expect("a form");
            let form = words.interval(&interval);
            for mutant in mutants(&form) {
                all += 1;
                match words.read_interval(&mutant) {
                    Err(UnreadInterval::OutOfRange(part)) => panic!("{part}"),
                    Err(_) => {}
                    Ok(read) if read == interval => same += 1,
                    Ok(_) => missed.push(format!("{form}: {mutant}")),
                }
            }
        }
    }
    assert!(all > 1_500, "{all}");
    assert!(same < all / 20, "{same} of {all} read the same");
    assert_eq!(missed, [""; 0]);
}
