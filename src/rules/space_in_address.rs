//! See [`RULE`].

use super::check::On;
use super::context::TextScene;
use crate::finding::{Finding, Findings, rule};
use memchr::{memchr2, memmem::Finder};

rule! {
    /// The address of a link or figure contains a space, so it is not read as a link.
    ///
    /// ## At the bench
    ///
    /// The sheet prints the brackets as typed. The action in them is not rehearsed, or the drawing is
    /// missing.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === air/look.md
    /// +++
    /// title = "Look at the cover"
    /// machines = ["hand-pump"]
    /// +++
    /// Dust wears the plunger.
    ///
    /// ## Look
    ///
    /// 1. Look at the cover, as [the seal](see: figure/seal) shows.
    /// ```
    ///
    /// ## Fix
    ///
    /// Remove the space. If a figure's file name contains one, put the path between angle brackets:
    /// `![the seal](<../figures/the seal.svg>)`.
    "space-in-address", Reading, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Text(check)];

fn check(scene: &TextScene<'_>, findings: &mut Findings) {
    let Some(procedure) = scene.procedure else {
        return;
    };
    let text = &scene.file.text;
    let mut from = procedure.body.start();
    let opening = Finder::new("](");
    while let Some(at) = text
        .get(from..)
        .and_then(|rest| opening.find(rest.as_bytes()))
    {
        let start = from + at + 2;
        from = start;
        let rest = &text[start..];
        let end = memchr2(b')', b'\n', rest.as_bytes()).unwrap_or(rest.len());
        let inside = &rest[..end];
        // Few addresses contain a space, so this test comes first.
        let Some(space) = memchr2(b' ', b'\t', inside.as_bytes()) else {
            continue;
        };
        let (address, after) = (&inside[..space], &inside[space + 1..]);
        let line = text[..start].rfind('\n').map_or(0, |at| at + 1);
        // Text in backticks is printed as typed.
        let is_code = text[line..start].matches('`').count() % 2 == 1;
        if is_code || !rest[end..].starts_with(')') || inside.starts_with('<') {
            continue;
        }
        // A title is in quotes or parentheses (CommonMark 0.31, 4.7).
        let after = after.trim_start();
        if after.is_empty() || after.starts_with(['"', '\'', '(']) {
            continue;
        }
        let message =
            format!("the address `{inside}` contains a space, so it is not read as a link");
        let is_action = address.ends_with(':') || !address.contains('/');
        let help = if is_action {
            format!("remove the space: `({address}{after})`")
        } else {
            let (path, title) = match inside.find(['"', '\'']) {
                Some(at) => inside.split_at(at),
                None => (inside, ""),
            };
            let path = path.trim_end();
            let title = if title.is_empty() {
                String::new()
            } else {
                format!(" {title}")
            };
            format!("put it between angle brackets: `(<{path}>{title})`")
        };
        let span = scene.file.span(start..start + end);
        findings.push(Finding::new(&RULE, message).primary(span, "").help(help));
    }
}
