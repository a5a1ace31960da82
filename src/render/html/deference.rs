//! The notice that the maker's instructions take precedence, on pages with a look of the shop's own.
//!
//! The notices of a page are in its templates and have the style of its style sheet, and a shop can replace both. So a page
//! with a look of the shop's own has the notice once more, as the last element of its body, where no element around it
//! can hide it. Its style is in the element and important, so no rule of a style sheet overrides it (CSS Cascading and
//! Inheritance, level 4, 6.4).

use crate::render::RenderError;
use crate::words::Words;
use crate::words::marks::plain;

/// The declarations that show the notice. `all` resets every other property that a style sheet may set.
const SHOWN: [&str; 12] = [
    "all:initial",
    "display:block",
    "visibility:visible",
    "opacity:1",
    "position:relative",
    "z-index:2147483647",
    "margin:0",
    "padding:6px 12px",
    "background:#fff",
    "color:#000",
    "font:13px/1.4 sans-serif",
    "forced-color-adjust:none",
];

/// The element with the notice in the language of the pages.
pub(super) fn element(words: &Words) -> String {
    let style: Vec<String> = SHOWN.iter().map(|one| format!("{one}!important")).collect();
    let text = plain(words.get("deference-line"));
    format!(
        "<p style=\"{}\">{}</p>\n",
        style.join(";"),
        text.replace('&', "&amp;").replace('<', "&lt;")
    )
}

/// Adds the element at the end of a page's body.
///
/// # Errors
///
/// If the page has no end of its body, or something after it.
pub(super) fn with_element(mut page: String, element: &str) -> Result<String, RenderError> {
    let end = page.rfind("</body>").filter(|end| {
        let after = &page[end + "</body>".len()..];
        after.trim() == "</html>" && !page[..*end].contains("</body>")
    });
    let Some(end) = end else {
        return Err(RenderError::Template {
            message: "the templates have to end every page with `</body></html>`, once: the notice that the maker's \
                      instructions take precedence is before it"
                .to_owned(),
        });
    };
    page.insert_str(end, element);
    Ok(page)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_notice_is_the_last_element_of_the_body() {
        let element = element(Words::english());
        assert!(element.contains("The equipment maker's instructions"));
        assert!(element.contains("display:block!important"));
        let page = with_element("<body><p>a</p></body>\n</html>\n".to_owned(), "<i>");
        assert_eq!(page.unwrap(), "<body><p>a</p><i></body>\n</html>\n");
        for page in [
            "<p>a</p>",
            "<body></body></html><!-- -->",
            "<body><!-- </body></html> -->",
            "<body></body></body></html>",
        ] {
            assert!(with_element(page.to_owned(), "<i>").is_err(), "{page}");
        }
    }
}
