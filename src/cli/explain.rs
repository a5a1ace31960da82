//! `benchleaf explain`

use super::console::print;
use super::exit::{CliError, ExitStatus};
use super::shared::require_known;
use crate::finding::Family;
use crate::prose::Verb;
use crate::site::{about_family, family_title, rules_of};
use crate::words::Words;
use clap::Args;
use std::fmt::Write as _;

/// Show a rule's page: what it finds, why it matters, an example and the fix
///
/// Every finding names its rule. Without a name, lists all rules by family and level. For a verb, shows what it does.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  benchleaf explain part-left-off
  benchleaf explain tighten          a verb, with how to write it
  benchleaf explain                  every rule, by family and level")]
pub(super) struct Arguments {
    /// A rule or a verb
    #[arg(value_name = "RULE")]
    rule: Option<String>,
}

pub(super) fn run(arguments: &Arguments) -> Result<ExitStatus, CliError> {
    let Some(name) = &arguments.rule else {
        print(&list());
        return Ok(ExitStatus::Success);
    };
    if let Some(verb) = Verb::find(name) {
        print(&format!(
            "{}\n\n{}\n",
            verb.forms().join("\n"),
            verb.spec().reference
        ));
        return Ok(ExitStatus::Success);
    }
    let rules = crate::rules::all();
    require_known("rule", name, rules.iter().map(|rule| rule.name))?;
    if let Some(rule) = rules.iter().find(|rule| rule.name == *name) {
        let (name, level, page) = (rule.name, rule.level, rule.markdown());
        print(&format!("# {name} ({level})\n\n{page}\n"));
    }
    Ok(ExitStatus::Success)
}

/// Every rule by family, the worst level first, each with its level and what it finds.
fn list() -> String {
    let words = Words::english();
    let mut text = String::new();
    for family in Family::ALL {
        let rules = rules_of(family);
        if rules.is_empty() {
            continue;
        }
        let (title, about) = (family_title(family, words), about_family(family, words));
        let space = if text.is_empty() { "" } else { "\n" };
        let _ = writeln!(text, "{space}{title}: {about}\n");
        let width = rules.iter().map(|rule| rule.name.len()).max().unwrap_or(0);
        for rule in rules {
            let (level, name) = (rule.level.to_string(), rule.name);
            let _ = writeln!(text, "  {level:7}  {name:width$}  {}", rule.summary());
        }
    }
    text
}
