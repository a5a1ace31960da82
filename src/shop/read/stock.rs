//! Reads the records of `supplies.toml`, `cautions.toml` and `glossary.toml`.

use super::super::fields::{caution, supply, term};
use super::super::{Caution, Shop, Supply, SupplyKind, Term, Tool, ToolId, Word, rules};
use super::fields::{choice, owned, price, spec, trade_value, values};
use super::keys::Known;
use crate::finding::{Finding, Findings, Located, nearest};
use crate::prose::{ThingKind, Verb};
use crate::quantity::Spec;
use crate::record::{Field, Id, Many, OneText, Record};
use crate::trade::mix_ratio;
use crate::words::Words;
use std::collections::BTreeMap;

pub(super) fn read_supply(
    id: Id<Supply>,
    supply: &Record<'_, Supply>,
    cautions: &Known<'_, Caution>,
    tools: &Known<'_, Tool>,
    findings: &mut Findings,
) -> Supply {
    let of = supply.what().to_owned();
    let mix = read_mix(supply, findings);
    let kind = choice(supply, supply::KIND, findings).map(|kind| kind.value);
    Supply {
        id,
        key: supply.key().to_owned(),
        name: owned(supply.text(supply::NAME, findings)),
        kind: kind.or(mix.as_ref().map(|_| SupplyKind::Fuel)),
        price: price(supply, supply::PRICE, findings),
        each: spec(supply, supply::EACH, findings),
        number: supply
            .text(supply::NUMBER, findings)
            .map(|number| number.value),
        bin: supply.text(supply::BIN, findings).map(|bin| bin.value),
        container: tools.named(supply, supply::CONTAINER, &of, findings),
        mix,
        cautions: cautions.all_named(supply, supply::CAUTIONS, &of, findings),
        note: supply.text(supply::NOTE, findings).map(|note| note.value),
    }
}

/// The containers for waste, by kind.
pub(super) fn read_waste(
    shop: &Shop,
    names: &[(SupplyKind, Located<String>)],
    findings: &mut Findings,
) -> BTreeMap<SupplyKind, ToolId> {
    let tools = Known::of_shop(shop, ThingKind::Tool, &shop.tools);
    let mut waste = BTreeMap::new();
    for (kind, name) in names {
        if let Some(tool) = tools.resolve(name, "`waste`", findings) {
            check_container(shop, &tool, "`waste`", findings);
            waste.insert(*kind, tool.value);
        }
    }
    waste
}

/// Reports a tool that is named as a container and is none: no step that uses it would be seen to drain into it.
pub(super) fn check_container(
    shop: &Shop,
    named: &Located<ToolId>,
    of: &str,
    findings: &mut Findings,
) {
    let tool = &shop.tools[named.value];
    if !tool.container {
        let message = format!("{of} names `{}`, which is not a container", tool.key);
        findings.push(
            Finding::new(&rules::CONFLICTING_FIELDS, message)
                .primary(named.span, "")
                .secondary(tool.span, "this tool")
                .help("name another tool, or give this one `container = true`"),
        );
    }
}

/// Reads the ratio of petrol to oil, which is one number to one.
fn read_mix(supply: &Record<'_, Supply>, findings: &mut Findings) -> Option<Located<Spec>> {
    let mix = spec(supply, supply::MIX, findings)?;
    trade_value(mix_ratio(mix.value.limits()), mix.span, findings)?;
    Some(mix)
}

pub(super) fn read_caution(
    id: Id<Caution>,
    caution: &Record<'_, Caution>,
    tools: &Known<'_, Tool>,
    findings: &mut Findings,
) -> Caution {
    let of = caution.what().to_owned();
    let word = choice(caution, caution::SIGNAL_WORD, findings);
    Caution {
        id,
        key: caution.key().to_owned(),
        signal_word: word.map_or(Word::Warning, |word| word.value),
        hazard: owned(caution.text(caution::HAZARD, findings)),
        consequence: owned(caution.text(caution::CONSEQUENCE, findings)),
        avoid: values(caution.texts(caution::AVOID, findings)),
        reminder: caution
            .text(caution::REMINDER, findings)
            .map(|text| text.value),
        signs: read_signs(caution, caution::SIGNS, findings),
        before: values(caution.texts(caution::BEFORE, findings)),
        at_hand: tools.all_named(caution, caution::AT_HAND, &of, findings),
        at: read_verbs(caution, findings),
    }
}

/// Reads the signs, and leaves out those that are not in the table of signs.
pub(super) fn read_signs<K, F: OneText>(
    record: &Record<'_, K>,
    field: &Field<K, Many<F>>,
    findings: &mut Findings,
) -> Vec<Located<String>> {
    let mut signs = record.texts(field, findings);
    signs.retain(|sign| {
        let is_known = Words::english().sign(&sign.value).is_some();
        if !is_known {
            let message = format!("there is no sign `{}`", sign.value);
            // Another sign may be meant as well, so the finding has no edit.
            let near = nearest(&sign.value, Words::signs());
            findings.push(
                Finding::new(&rules::UNKNOWN_CHOICE, message)
                    .primary(sign.span, "")
                    .suggest(near, "use the number of a sign of ISO 7010 that is drawn in `templates/signs`, such as `W021` or `M004`")
            );
        }
        is_known
    });
    signs
}

fn read_verbs(caution: &Record<'_, Caution>, findings: &mut Findings) -> Vec<Verb> {
    let mut verbs = Vec::new();
    for text in caution.texts(caution::AT, findings) {
        if let Some(verb) = Verb::find(&text.value) {
            verbs.push(verb);
            continue;
        }
        let known = Verb::ALL.iter().map(|verb| verb.word());
        let message = format!("`{}` is not a verb", text.value);
        let near = nearest(&text.value, known);
        findings.push(
            Finding::new(&rules::UNKNOWN_CHOICE, message)
                .primary(text.span, "")
                .suggest(near, "name a verb of an action, such as `fit` or `tighten`")
                .corrected(&text.value, near),
        );
    }
    verbs
}

/// A name or a synonym of a term, with the term's id.
pub(super) struct TermName {
    term: String,
    text: Located<String>,
    is_synonym: bool,
}

/// Reads a term. Its name and its synonyms are added to `names`.
pub(super) fn read_term(
    term: &Record<'_, Term>,
    names: &mut Vec<TermName>,
    findings: &mut Findings,
) -> Term {
    let name = term.text(term::NAME, findings);
    let also = term.texts(term::ALSO, findings);
    let texts = name.iter().map(|text| (text, false));
    let texts = texts.chain(also.iter().map(|text| (text, true)));
    names.extend(texts.map(|(text, is_synonym)| TermName {
        term: term.key().to_owned(),
        text: text.clone(),
        is_synonym,
    }));
    Term {
        key: term.key().to_owned(),
        name: owned(name),
        also: values(also),
        means: owned(term.text(term::MEANS, findings)),
    }
}

/// Reports names and synonyms that more than one term has, or one term twice.
pub(super) fn check_term_names(mut names: Vec<TermName>, findings: &mut Findings) {
    // Names first, so that a finding is at the synonym.
    names.sort_by_key(|name| name.is_synonym);
    let mut known: BTreeMap<String, &TermName> = BTreeMap::new();
    for name in &names {
        let text = &name.text.value;
        let Some(first) = known.insert(text.trim().to_lowercase(), name) else {
            continue;
        };
        let message = if first.term == name.term {
            format!("`{text}` is there twice in the term `{}`", name.term)
        } else {
            format!(
                "`{text}` names two terms, `{}` and `{}`",
                first.term, name.term
            )
        };
        findings.push(
            Finding::new(&rules::TERM_NAMED_TWICE, message)
                .primary(name.text.span, "")
                .secondary(first.text.span, "also here")
                .help("keep it in the term that a search for it should find"),
        );
    }
}
