//! The templates, built into the program.
//!
//! Each kind of block has its own template, so that a shop can replace one without copying the others.

/// A template's name and its text.
pub(super) type Template = (&'static str, &'static str);

/// Embeds files of a folder of `templates/` as names and texts.
macro_rules! built_in {
    ($folder:literal: $($name:literal),+ $(,)?) => {
        &[$(($name, include_str!(concat!("../../templates/", $folder, "/", $name)))),+]
    };
}

/// The page templates, for tera.
pub(super) const HTML: &[Template] = built_in!("html":
    "page.html",
    "page.js",
    "tokens.css",
    "sheet.html",
    "site.html",
    "nav.html",
    "offline.js",
    "open_jobs.html",
    "open_jobs.js",
    "entries.html",
    "style.css",
    "shop.css",
    "checklist.css",
    "live_awake.js",
    "live_base.js",
    "live_bench.js",
    "live_changes.js",
    "live_clock.js",
    "live_controls.js",
    "live_count.js",
    "live_digest.js",
    "live_files.js",
    "live_handover.js",
    "live_holds.js",
    "live_job.js",
    "live_list.js",
    "live_messages.js",
    "live_panel.js",
    "live_photos.js",
    "live_outcomes.js",
    "live_positions.js",
    "live_gauge.js",
    "live_reading.js",
    "live_record.js",
    "live_serial.js",
    "live_sheet.js",
    "live_start.js",
    "live_store.js",
    "live_wait.js",
    "search_box.js",
    "search.js",
    "search.html",
    "head.html",
    "block_list.html",
    "block.html",
    "runs.html",
    "value.html",
    "safety.html",
    "step.html",
    "line.html",
    "what.html",
    "details.html",
    "blank.html",
    "wear.html",
    "hold.html",
    "table.html",
    "figure.html",
    "figures.js",
    "drawing.html",
    "listing.html",
    "notices.html",
    "sign_off.html",
    "protection.html",
    "set_up.html",
    "stop.html",
    "wrong_here.html",
    "sheet_links.html",
);

/// The sheet templates, for typst.
pub(super) const TYPST: &[Template] = built_in!("typst":
    "main.typ",
    "manual.typ",
    "sheet.typ",
    "manual_layout.typ",
    "manual_piece.typ",
    "manual_step.typ",
    "manual_page.typ",
    "look.typ",
    "precedence.typ",
    "shop.typ",
    "shapes.typ",
    "head.typ",
    "block.typ",
    "runs.typ",
    "value.typ",
    "safety.typ",
    "step.typ",
    "entry.typ",
    "wear.typ",
    "pages.typ",
    "table.typ",
    "figure.typ",
    "drawing.typ",
    "listing.typ",
    "note.typ",
    "notices.typ",
    "sign_off.typ",
    "protection.typ",
    "set_up.typ",
    "stop.typ",
);

/// The icons of the pages, drawn on a square of 24 by 24.
pub(super) const ICONS: &[Template] = built_in!("icons":
    "bench-checklist.svg",
    "caution-sheet.svg",
    "chapters.svg",
    "dark.svg",
    "due.svg",
    "fault-table.svg",
    "front.svg",
    "glossary.svg",
    "interval-chart.svg",
    "kit-list.svg",
    "machine-data.svg",
    "machines.svg",
    "manual.svg",
    "menu.svg",
    "next.svg",
    "open.svg",
    "part-numbers.svg",
    "parts-list.svg",
    "parts.svg",
    "photo.svg",
    "pdf.svg",
    "rules.svg",
    "search.svg",
    "shop-sheet.svg",
    "supplies.svg",
    "tools.svg",
    "where-used.svg",
);

/// The safety signs. A file is named by the sign's number in ISO 7010.
pub(super) const SIGNS: &[Template] = built_in!("signs":
    "E003.svg",
    "E011.svg",
    "F001.svg",
    "M001.svg",
    "M002.svg",
    "M003.svg",
    "M004.svg",
    "M006.svg",
    "M008.svg",
    "M009.svg",
    "M010.svg",
    "M013.svg",
    "M017.svg",
    "M021.svg",
    "P001.svg",
    "P002.svg",
    "P003.svg",
    "P010.svg",
    "W001.svg",
    "W002.svg",
    "W011.svg",
    "W012.svg",
    "W016.svg",
    "W017.svg",
    "W018.svg",
    "W019.svg",
    "W021.svg",
    "W022.svg",
    "W023.svg",
    "W024.svg",
    "W025.svg",
    "W026.svg",
    "W029.svg",
    "W035.svg",
    "W038.svg",
    "W041.svg",
);

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::*;

    /// A file that is not in the table would never be used.
    #[test]
    fn every_template_file_is_embedded() {
        for (folder, table) in [("html", HTML), ("icons", ICONS), ("typst", TYPST)] {
            let folder = Path::new(env!("CARGO_MANIFEST_DIR"))
                .join("templates")
                .join(folder);
            let mut files: Vec<String> = std::fs::read_dir(&folder)
                .expect("the templates are in the repository")
                .map(|entry| {
                    let entry = entry.expect("the folder can be read");
                    entry.file_name().to_string_lossy().into_owned()
                })
                .collect();
            files.sort();
            let mut names: Vec<&str> = table.iter().map(|(name, _)| *name).collect();
            names.sort_unstable();
            assert_eq!(files, names, "{}", folder.display());
        }
    }
}
