//! The levels that a shop sets for rules.

use crate::finding::{Family, Finding, Findings, Level, Rule, nearest, rule};
use crate::shop::Shop;

pub(super) static RULES: [&Rule; 3] = [&FIXED_LEVEL, &LOWERED_WITHOUT_REASON, &UNKNOWN_RULE];

/// Sets findings to the levels that the shop asks for.
///
/// A level for an unknown rule is a finding. Rules that [`is_fixed`] names keep their level.
pub(super) fn set_levels(shop: &Shop, rules: &[&'static Rule], findings: &mut Findings) {
    for setting in &shop.levels {
        if !rules.iter().any(|rule| rule.name == setting.rule.value) {
            let known = rules.iter().map(|rule| rule.name);
            let message = format!("there is no rule `{}`", setting.rule.value);
            let near = nearest(&setting.rule.value, known);
            findings.push(
                Finding::new(&UNKNOWN_RULE, message)
                    .primary(setting.rule.span, "")
                    .suggest(near, "`benchleaf explain` lists the rules")
                    .corrected(&setting.rule.value, near),
            );
        }
    }
    for setting in &shop.levels {
        let rule = rules.iter().find(|rule| rule.name == setting.rule.value);
        let Some(rule) = rule.filter(|rule| is_fixed(rule)) else {
            continue;
        };
        if setting.level.is_none_or(|level| level < rule.level) {
            let message = format!("`{}` can't have a lower level than `error`", rule.name);
            findings.push(
                Finding::new(&FIXED_LEVEL, message)
                    .primary(setting.rule.span, "")
                    .help("remove this line, and correct what the rule finds"),
            );
        }
    }
    for setting in shop
        .levels
        .iter()
        .filter(|setting| setting.reason.is_none())
    {
        let rule = rules.iter().find(|rule| rule.name == setting.rule.value);
        let Some(rule) = rule.filter(|rule| is_about_safety(rule)) else {
            continue;
        };
        if setting.level.is_none_or(|level| level < rule.level) {
            let message = format!("`{}` is lowered without a reason", rule.name);
            findings.push(
                Finding::new(&LOWERED_WITHOUT_REASON, message)
                    .primary(setting.rule.span, "")
                    .help(format!(
                        "write the reason after the level, as in `{} = \"advice: why\"`: every sheet prints it",
                        rule.name
                    )),
            );
        }
    }
    findings.set_levels(|finding| {
        let set = shop
            .levels
            .iter()
            .rfind(|setting| setting.rule.value == finding.rule.name);
        match set {
            Some(setting) if !is_fixed(finding.rule) => setting.level,
            _ => Some(finding.level),
        }
    });
}

/// The level that a shop gives a rule instead of the default.
pub(crate) struct OwnLevel<'s> {
    /// `None` if the rule is off.
    level: Option<Level>,
    /// Why the shop set it.
    pub(crate) reason: Option<&'s str>,
}

impl OwnLevel<'_> {
    /// The level as it is written in `shop.toml`: `warning`, `off`.
    pub(crate) fn level_name(&self) -> String {
        self.level
            .map_or_else(|| "off".to_owned(), |level| level.to_string())
    }
}

/// The level of a rule in a shop, if it is another than the default.
pub(crate) fn own_level<'s>(shop: &'s Shop, rule: &Rule) -> Option<OwnLevel<'s>> {
    if is_fixed(rule) {
        return None;
    }
    let mut settings = shop.levels.iter();
    let setting = settings.rfind(|setting| setting.rule.value == rule.name)?;
    (setting.level != Some(rule.level)).then_some(OwnLevel {
        level: setting.level,
        reason: setting.reason.as_deref(),
    })
}

/// Whether a shop can't lower the rule's level: what can't be read or found can't be printed.
fn is_fixed(rule: &Rule) -> bool {
    rule.level == Level::Error && !matches!(rule.family, Family::Rehearsal | Family::Trade)
}

/// Whether a rule finds work that hurts somebody or ruins a machine, so that a shop lowers it only with a reason.
fn is_about_safety(rule: &Rule) -> bool {
    rule.level == Level::Error && !is_fixed(rule)
}

rule! {
    /// A shop lowers the level of a rule that finds dangerous work, and gives no reason.
    ///
    /// With a reason, the level is lowered, and every sheet says so beside the sentence that it was checked.
    ///
    /// ## At the bench
    ///
    /// The sheet says that it was checked, and the check that would have warned was off.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + shop.toml
    /// [levels]
    /// part-left-off = "off"
    /// ```
    ///
    /// ## Fix
    ///
    /// Remove the setting, or write why: `part-left-off = "off: the pumps are broken for parts"`.
    "lowered-without-reason", Names, Error => LOWERED_WITHOUT_REASON
}

rule! {
    /// A shop lowers the level of a rule whose findings are always errors.
    ///
    /// ## At the bench
    ///
    /// What can't be read or found can't be printed. The page would look complete without it.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + shop.toml
    /// [levels]
    /// unknown-thing = "advice"
    /// ```
    ///
    /// ## Fix
    ///
    /// Remove the setting, and fix what the rule finds.
    "fixed-level", Names, Error => FIXED_LEVEL
}

rule! {
    /// The shop sets a level for a rule that does not exist.
    ///
    /// ## At the bench
    ///
    /// The intended rule keeps its default level, and nothing shows it.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + shop.toml
    /// [levels]
    /// unverified-valu = "error"
    /// ```
    ///
    /// ## Fix
    ///
    /// Correct the name; each finding names its rule.
    "unknown-rule", Names, Error => UNKNOWN_RULE
}
