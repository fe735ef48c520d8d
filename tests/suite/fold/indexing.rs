//! Where ids stand in a list that grows, however they arrive.

use proptest::prelude::*;
use struck::fold::id_index::IdIndex;
use struck::model::id::Id;

/// Ids as several files bring them: runs of rising ones, some by hand, some met before.
fn arriving() -> impl Strategy<Value = Vec<Id>> {
    let run = (0..2000_u128, 0..120_usize, 1..9_u128);
    prop::collection::vec(run, 1..6).prop_map(|runs| {
        let ids = runs.into_iter().flat_map(|(first, count, step)| {
            (0..count as u128).map(move |n| match first + n * step {
                n if n % 97 == 0 => Id::parse(&format!("by-hand-{n}")).unwrap(),
                n => Id::from_ulid(n << 20),
            })
        });
        ids.collect()
    })
}

proptest! {
    #[test]
    fn every_id_is_found_where_it_first_stood_and_no_other_is(arriving in arriving(), absent in 0..4000_u128) {
        let (mut index, mut list) = (IdIndex::default(), Vec::<Id>::new());
        for id in &arriving {
            let rises = index.is_above_all(id, |at| &list[at as usize]);
            prop_assert!(!rises || !list.contains(id));
            let held = index.find(id, |at| &list[at as usize]);
            prop_assert_eq!(held, list.iter().position(|it| it == id));
            if held.is_none() {
                list.push(id.clone());
                index.add(list.len() - 1, rises, |at| &list[at as usize]);
            }
        }
        for (at, id) in list.iter().enumerate() {
            prop_assert_eq!(index.find(id, |at| &list[at as usize]), Some(at));
        }
        let absent = Id::from_ulid((absent << 20) + 1);
        prop_assert_eq!(index.find(&absent, |at| &list[at as usize]), None);
    }
}
