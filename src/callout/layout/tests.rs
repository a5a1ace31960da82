//! Numbers are clear of each other, and what is shown contains its parts.

use super::*;

fn part(number: u32, left: i32, top: i32, right: i32, bottom: i32) -> Numbered {
    let area = Area {
        left,
        top,
        right,
        bottom,
    };
    Numbered {
        number,
        places: vec![Place {
            shapes: 0..0,
            area,
            points: [[left, top], [right, top], [right, bottom], [left, bottom]].into(),
        }],
    }
}

fn drawing() -> Drawing {
    Drawing::empty(4_000, 2_000)
}

/// No two circles overlap, all are in the view, and so are the areas of the parts.
fn assert_clear(layout: &Layout, parts: &[Numbered]) {
    for (index, mark) in layout.marks.iter().enumerate() {
        let one = circle(mark.at, layout.radius);
        assert!(layout.view.contains(&one), "{mark:?} in {:?}", layout.view);
        for other in &layout.marks[index + 1..] {
            let least = i64::from(layout.radius) * 2;
            assert!(distance(mark.at, other.at) >= least, "{mark:?} {other:?}");
        }
    }
    for place in parts.iter().flat_map(|part| &part.places) {
        assert!(layout.view.contains(&place.area));
    }
}

#[test]
fn numbers_of_a_whole_figure_stand_clear_of_each_other_and_of_the_figure() {
    // Crowded in a corner, in a row, and one above the other.
    let crowded: Vec<Numbered> = (0..12).map(|index| part(index, 10, 10, 60, 60)).collect();
    let row: Vec<Numbered> = (0..10)
        .map(|index| {
            let left = 380 * i32::try_from(index).unwrap();
            part(index, left, 900, left + 200, 1_100)
        })
        .collect();
    for parts in [crowded, row] {
        let layout = whole(&drawing(), &parts, PrintSpace::WHOLE);
        assert_eq!(layout.marks.len(), parts.len());
        assert_clear(&layout, &parts);
        for mark in &layout.marks {
            let inside = circle(mark.at, layout.radius);
            let figure = circle([2_000, 1_000], 0).with(&Area {
                left: 0,
                top: 0,
                right: 4_000,
                bottom: 2_000,
            });
            assert_eq!(inside.overlap(&figure), 0);
        }
    }
}

#[test]
fn a_crop_contains_its_parts_and_their_numbers() {
    let cases = [
        vec![part(1, 0, 0, 60, 60)],
        vec![part(1, 3_900, 1_900, 4_000, 2_000)],
        vec![part(1, 0, 0, 4_000, 2_000)],
        vec![part(1, 100, 100, 300, 300), part(2, 310, 100, 500, 300)],
        vec![part(1, 0, 0, 50, 50), part(2, 3_950, 1_950, 4_000, 2_000)],
        (0..6)
            .map(|index| part(index, 1_000, 900, 1_200, 1_100))
            .collect(),
    ];
    for parts in cases {
        let layout = crop(&drawing(), &parts, PrintSpace::STEP);
        assert_clear(&layout, &parts);
    }
}

#[test]
fn a_small_part_is_shown_with_its_surroundings() {
    let layout = crop(
        &drawing(),
        &[part(1, 2_000, 1_000, 2_020, 1_020)],
        PrintSpace::STEP,
    );
    assert!(layout.view.width() >= 1_500, "{:?}", layout.view);
    assert!(layout.view.width() < 4_000);
}

#[test]
fn places_are_moved_apart_as_little_as_possible() {
    assert_eq!(spread(&[100, 400], 0, 1_000, 50), [100, 400]);
    assert_eq!(spread(&[100, 100], 0, 1_000, 50), [75, 125]);
    assert_eq!(spread(&[0, 0, 0], 0, 1_000, 50), [0, 50, 100]);
    assert_eq!(spread(&[990, 1_000], 0, 1_000, 50), [950, 1_000]);
    assert!(spread(&[], 0, 1_000, 50).is_empty());
}
