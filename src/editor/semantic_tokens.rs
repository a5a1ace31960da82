//! The parts of actions, for colours: the verb, the thing, and what follows it.

use super::client::Client;
use super::encoding::Lines;
use super::names::written;
use super::place::Opened;
use crate::procedure::Procedure;
use lsp_types::{
    SemanticToken, SemanticTokenType, SemanticTokens, SemanticTokensLegend, SemanticTokensParams,
    SemanticTokensResult,
};
use std::ops::Range;

/// The kinds of tokens, by their indices.
const VERB: u32 = 0;
const THING: u32 = 1;
const QUALIFIER: u32 = 2;

pub(super) fn legend() -> SemanticTokensLegend {
    SemanticTokensLegend {
        token_types: vec![
            SemanticTokenType::FUNCTION,
            SemanticTokenType::VARIABLE,
            SemanticTokenType::ENUM_MEMBER,
        ],
        token_modifiers: Vec::new(),
    }
}

pub(super) fn semantic_tokens(
    client: &Client,
    parameters: &SemanticTokensParams,
) -> Option<SemanticTokensResult> {
    let opened = Opened::find(client, &parameters.text_document.uri)?;
    let (sources, file) = opened.get()?;
    let mut tokens: Vec<(Range<usize>, u32)> = Vec::new();
    let steps = written(sources, file.id)
        .into_iter()
        .flat_map(Procedure::steps);
    for link in steps.flat_map(|step| step.actions().chain(&step.cautions)) {
        let thing = link.thing.span;
        // With escapes, the parts are not where they are expected.
        if sources.tree.text(thing) != link.thing.value {
            continue;
        }
        let verb = link.verb.word();
        let start = thing.start().saturating_sub(verb.len() + 1);
        if file.text.get(start..start + verb.len()) == Some(verb) {
            tokens.push((start..start + verb.len(), VERB));
        }
        let end = link
            .thing
            .value
            .find('/')
            .map_or(thing.end(), |at| thing.start() + at);
        tokens.push((thing.start()..end, THING));
        if end < thing.end() {
            tokens.push((end + 1..thing.end(), QUALIFIER));
        }
    }
    tokens.retain(|(range, _)| !range.is_empty());
    tokens.sort_by_key(|(range, _)| range.start);
    tokens.dedup();
    let lines = Lines::of(&file.text, opened.encoding);
    let (mut line, mut character) = (0, 0);
    let data = tokens.into_iter().map(|(range, token_type)| {
        let start = lines.position(range.start);
        let token = SemanticToken {
            delta_line: start.line - line,
            delta_start: start.character - if start.line == line { character } else { 0 },
            length: opened.encoding.length(&file.text[range]),
            token_type,
            token_modifiers_bitset: 0,
        };
        (line, character) = (start.line, start.character);
        token
    });
    Some(SemanticTokensResult::Tokens(SemanticTokens {
        result_id: None,
        data: data.collect(),
    }))
}
