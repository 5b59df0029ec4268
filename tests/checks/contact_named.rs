//! Distinctions that are easily lost, each by name: a line under mulch is no buried line, a home is no sod farm, raw crops
//! get drip only where the text says so, and what is peeled or cooked may be touched where the text says so.

use std::sync::Arc;

use aubergine_core::catalog::crops::crops;
use aubergine_core::contact::{
    CropFacts, Geometry, Input, Plant, Planting, Preparation, verdict_on,
};
use aubergine_core::ids::{Id, Kind};
use aubergine_core::rulebook::{Method, SiteKind, Verdict, built_in, built_in_book};

/// The word of one book on a crop, or on grass where none is named.
fn word(
    (book, class, site): (&str, &str, SiteKind),
    crop: Option<&str>,
    preparation: Preparation,
    method: Method,
) -> Verdict {
    let input = Input {
        books: vec![Arc::new(built_in_book(book).unwrap().clone())],
        water_class: class.to_owned(),
        site,
        ..Input::default()
    };
    let plant = crop.map_or(Plant::Turf, |crop| {
        Plant::Food(CropFacts::from_catalog(&crops()[crop]))
    });
    let planting = Planting {
        subject: Id::new(Kind::Bed, 1),
        index: 0,
        zone: None,
        plant,
        preparation,
        method,
        geometry: Geometry::default(),
        overlap: None,
    };
    verdict_on(&input, &planting).unwrap()
}

const HOME: SiteKind = SiteKind::ResidenceIndividual;

#[test]
fn a_line_under_mulch_is_not_a_buried_line() {
    let texas = ("us-tx", "type-i", HOME);
    let tomato = |method| {
        word(
            texas,
            Some("tomato_staked_pruned"),
            Preparation::Raw,
            method,
        )
    };
    assert_eq!(tomato(Method::DripUnderMulch), Verdict::Conditions);
    assert_eq!(tomato(Method::SubsurfaceDrip), Verdict::Ask);
}

#[test]
fn water_at_a_home_is_held_to_no_less_than_on_a_farm() {
    let grass = |book, class, site| {
        let place = (book, class, site);
        word(place, None, Preparation::Unknown, Method::Spray)
    };
    let mut num_stricter = 0;
    for book in built_in().iter().filter(|book| book.binding) {
        for class in &book.water_classes {
            let home = grass(&book.id, &class.id, HOME);
            let farm = grass(&book.id, &class.id, SiteKind::Farm);
            assert!(home >= farm, "{} {}", book.id, class.id);
            num_stricter += usize::from(home > farm);
        }
    }
    assert!(num_stricter > 5, "{num_stricter}");
    // Colorado names both.
    assert_eq!(grass("us-co", "category-2", HOME), Verdict::Prohibit);
    assert_eq!(
        grass("us-co", "category-2", SiteKind::Farm),
        Verdict::Conditions
    );
}

#[test]
fn raw_crops_are_dripped_only_where_the_text_says_so() {
    let florida = ("us-fl", "part-iii", HOME);
    let raw = |crop, method| word(florida, Some(crop), Preparation::Raw, method);
    assert_eq!(
        raw("tomato_staked_pruned", Method::SurfaceDrip),
        Verdict::Conditions
    );
    assert_eq!(
        raw("tomato_staked_pruned", Method::Spray),
        Verdict::Prohibit
    );
    // Leaves at the soil are not named; a root lies in the water.
    assert_eq!(raw("lettuce_leaf", Method::SurfaceDrip), Verdict::Ask);
    assert_eq!(raw("carrot", Method::SurfaceDrip), Verdict::Prohibit);
    // The default book knows of no such permission.
    let nowhere = ("generic", "reclaimed", HOME);
    let tomato = Some("tomato_staked_pruned");
    let dripped = word(nowhere, tomato, Preparation::Raw, Method::SurfaceDrip);
    assert_eq!(dripped, Verdict::Ask);
}

#[test]
fn what_is_peeled_or_cooked_may_be_touched_where_the_text_says_so() {
    let sprayed = |place, how| word(place, Some("potato"), how, Method::Spray);
    let florida = ("us-fl", "part-iii", HOME);
    assert_eq!(sprayed(florida, Preparation::Raw), Verdict::Prohibit);
    for how in [Preparation::SkinRemoved, Preparation::Cooked] {
        assert!(sprayed(florida, how).allows(), "{how:?}");
    }
    // Elsewhere it is a question.
    let nowhere = ("generic", "reclaimed", HOME);
    assert_eq!(sprayed(nowhere, Preparation::Cooked), Verdict::Ask);
    // A Texas home may not be sprayed on whatever is done to the crop: a stricter text stands beside the milder one.
    let texas = ("us-tx", "type-i", HOME);
    let lettuce = Some("lettuce_leaf");
    let cooked = word(texas, lettuce, Preparation::Cooked, Method::Spray);
    assert_eq!(cooked, Verdict::Prohibit);
}
