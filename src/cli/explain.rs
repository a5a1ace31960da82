//! `benchleaf explain`

use super::console::print;
use super::exit::{CliError, ExitStatus};
use super::shared::require_known;
use crate::prose::Verb;
use clap::Args;

/// Show a rule's page: what it finds, why it matters, an example and the fix
///
/// Every finding names its rule. Without a name, lists all rules. For a verb, shows what it does.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  benchleaf explain part-left-off
  benchleaf explain tighten          a verb, with how to write it
  benchleaf explain                  every rule, with its level")]
pub(super) struct Arguments {
    /// A rule or a verb
    #[arg(value_name = "RULE")]
    rule: Option<String>,
}

pub(super) fn run(arguments: &Arguments) -> Result<ExitStatus, CliError> {
    let rules = crate::rules::all();
    let Some(name) = &arguments.rule else {
        let width = rules.iter().map(|rule| rule.name.len()).max().unwrap_or(0);
        for rule in rules {
            let level = rule.level.to_string();
            print(&format!(
                "{:width$}  {level:7}  {}\n",
                rule.name,
                first_sentence(rule.page)
            ));
        }
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
    require_known("rule", name, rules.iter().map(|rule| rule.name))?;
    if let Some(rule) = rules.iter().find(|rule| rule.name == *name) {
        // The page is a doc comment: its lines begin with a space.
        let lines = rule.page.lines();
        let page: Vec<&str> = lines
            .map(|line| line.strip_prefix(' ').unwrap_or(line))
            .collect();
        print(&format!(
            "# {} ({})\n\n{}\n",
            rule.name,
            rule.level,
            page.join("\n").trim()
        ));
    }
    Ok(ExitStatus::Success)
}

fn first_sentence(page: &str) -> &str {
    page.trim().lines().next().unwrap_or_default()
}
