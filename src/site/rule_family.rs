//! What pages say of the families of rules.

use crate::finding::Family;
use crate::words::Words;

/// The title of a family.
pub(crate) fn family_title(family: Family, words: &Words) -> &str {
    words.get(match family {
        Family::Reading => "rules-reading",
        Family::Names => "rules-names",
        Family::Quantities => "rules-quantities",
        Family::Trade => "rules-trade",
        Family::Rehearsal => "rules-rehearsal",
        Family::Printing => "rules-printing",
    })
}

/// What the rules of a family find, in a sentence.
pub(crate) fn about_family(family: Family, words: &Words) -> &str {
    words.get(match family {
        Family::Reading => "rules-about-reading",
        Family::Names => "rules-about-names",
        Family::Quantities => "rules-about-quantities",
        Family::Trade => "rules-about-trade",
        Family::Rehearsal => "rules-about-rehearsal",
        Family::Printing => "rules-about-printing",
    })
}
