//! Divides a manual that is too large for one PDF into parts.

use super::book::{Chapter, Manual};
use crate::words::Words;
use std::collections::BTreeMap;
use std::ops::Range;

impl Manual {
    /// The chapters that can be in different parts: all but the back of the title page, which every part has.
    pub(crate) fn divisible(&self) -> Range<usize> {
        1..self.chapters.len()
    }

    /// The manual in parts, each with some of its [`divisible`](Manual::divisible) chapters. A reference to another part
    /// gives its name in place of a page.
    pub(crate) fn in_parts(&self, parts: &[Range<usize>], words: &Words) -> Vec<Manual> {
        let chapters = |part: &Range<usize>| self.chapters.get(part.clone()).unwrap_or_default();
        let places = |chapters: &[Chapter]| -> Vec<String> {
            let places = chapters.iter().flat_map(Chapter::places);
            places.map(|place| place.to_string()).collect()
        };
        let of_all = |part: usize| words.format("manual-part-name", &[("part", &part.to_string())]);
        let mut all: BTreeMap<String, (usize, String)> = BTreeMap::new();
        for (number, part) in (1..).zip(parts) {
            for place in places(chapters(part)) {
                all.insert(place, (number, of_all(number)));
            }
        }
        let made = (1..).zip(parts).map(|(number, part): (usize, _)| {
            let outside = all.iter().filter(|(_, (other, _))| *other != number);
            let mut made = Manual {
                head: self.head.clone(),
                page: self.page.clone(),
                chapters: [self.chapters.get(..1).unwrap_or_default(), chapters(part)].concat(),
                figures: if number == 1 {
                    self.figures.clone()
                } else {
                    Vec::new()
                },
                outside: outside
                    .map(|(place, (_, name))| (place.clone(), name.clone()))
                    .collect(),
            };
            let values = [
                ("title", self.head.title.as_str()),
                ("part", &number.to_string()),
                ("parts", &parts.len().to_string()),
            ];
            made.head.title = words.format("manual-part", &values);
            made
        });
        made.collect()
    }
}
