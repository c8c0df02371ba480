//! Pieces that are read in rounds: in an order that is drawn, and nothing said of them before the end.

use std::collections::BTreeSet;

use crate::record::{Circuit, Plan, Record, What, document, piece_in_round, read};
use crate::session::{Auditor, Journal};
use crate::tests::support::{Home, flat};

fn circuits(n_pieces: u32, n_rounds: u32) -> Vec<Circuit> {
    let program = crate::tests::support::compiled(&format!(
        "procedure(#{{ title: \"A\", unit: \"A\", version: \"1.0.0\" }});
        for round in 1..={n_rounds} {{ for n in 1..={n_pieces} {{
            test(circuit(#{{ name: \"piece \" + n + \", round \" + round, holds: 4.inHg, leaks: 2.inHg }}));
        }} }}"
    ));
    program.outline().expect("an outline").circuits.clone()
}

#[test]
fn each_round_has_every_piece_once_and_none_comes_right_after_itself() {
    let mut orders = BTreeSet::new();
    for (n_pieces, n_rounds) in [(5, 3), (2, 4), (7, 2)] {
        let all = circuits(n_pieces, n_rounds);
        for seed in 0..200 {
            let plan = Plan::in_drawn_order(&all, seed).expect("rounds");
            let order: Vec<_> =
                plan.circuits.iter().map(|planned| piece_in_round(&planned.circuit).unwrap()).collect();
            for (n, round) in order.chunks(n_pieces as usize).enumerate() {
                let pieces: BTreeSet<_> = round.iter().map(|(piece, _)| piece).collect();
                assert_eq!(pieces.len(), n_pieces as usize, "{order:?}");
                assert!(round.iter().all(|(_, of)| *of as usize == n + 1), "{order:?}");
            }
            assert!(order.windows(2).all(|two| two[0].0 != two[1].0), "{order:?}");
            orders.insert(plan.circuits.iter().map(|planned| planned.circuit.clone()).collect::<Vec<_>>());
        }
    }
    assert!(orders.len() > 300, "{} orders", orders.len());
}

/// The chance that a piece comes first is the same for all: 1000 draws of 5, each within four
/// standard deviations of 200.
#[test]
fn every_piece_comes_first_as_often_as_the_others() {
    let all = circuits(5, 3);
    let mut n_first = [0_i32; 5];
    for seed in 0..1000 {
        let plan = Plan::in_drawn_order(&all, seed).expect("rounds");
        n_first[all.iter().position(|circuit| circuit.name == plan.circuits[0].circuit).unwrap()] += 1;
    }
    assert!(n_first.iter().all(|n| (n - 200).abs() < 52), "{n_first:?}");
}

#[test]
fn what_names_no_round_keeps_the_order_of_its_procedure() {
    for name in ["piece 3", "piece 3, round", "piece 3, round 0", ", round 2", "piece 3, round two"] {
        assert_eq!(piece_in_round(name), None, "{name}");
    }
    let mut mixed = circuits(2, 2);
    mixed[3].name = "plate".to_owned();
    assert_eq!(Plan::in_drawn_order(&mixed, 1), None);
    assert_eq!(Plan::in_drawn_order(&[], 1), None);
}

#[test]
fn a_class_study_says_nothing_of_a_reading_before_its_end_and_goes_on_in_the_order_that_was_drawn() {
    let home = Home::new();
    let told_nothing = |out: &str| {
        let text = flat(out);
        assert!(!text.contains("holds: ") && !text.contains("standard reading 1"), "{text}");
    };
    let begun =
        home.run(&["guide", "class-study"], "Ada\n29.92 inHg\n20 C\nok\n25\n5\n12.5\nmore\npark\n").exits(3);
    assert!(begun.out.contains("inHg: 12.5"), "{}", begun.out);
    told_nothing(&begun.out);
    let resumed = home.run(&["guide", "--resume"], "more\n13\npark\n").exits(3);
    told_nothing(&resumed.out);
    let name = home.names(&home.shop().join("open")).pop().unwrap();
    let journal = home.shop().join("open").join(name).join("journal.jsonl");
    let opening = Journal::opening(&journal).expect("an opening");
    let journal = Journal::open(&journal).expect("a journal");
    let planned = opening.plan.as_ref().unwrap().circuits.iter().map(|planned| planned.circuit.clone());
    let read = journal.events().iter().filter_map(|event| match &event.what {
        What::Answered { question, .. } => question.circuit.clone(),
        _ => None,
    });
    assert_eq!(read.collect::<Vec<_>>(), planned.take(2).collect::<Vec<_>>());
}

#[test]
fn what_a_class_has_read_in_drawn_orders_is_in_order_and_comes_together() {
    let school = Home::new();
    let benches = ["Ada", "Bo"].map(|name| {
        let bench = Home::new();
        let lines = [
            &[name, "29.92 inHg", "20 C", "ok", "25", "5"][..],
            &["12.5", "14", "16", "11", "19", "12", "14.5", "16.5", "11", "19", "12.5", "14"],
            &["25", "5", "16", "11.5", "18.5", "25", "5"],
        ];
        bench.run(&["guide", "class-study"], &(lines.concat().join("\n") + "\n")).exits(0);
        bench.run(&["records", "audit"], "").exits(0).says("1 of 1 records in order.");
        bench
    });
    for bench in &benches {
        school.run(&["records", "import", bench.shop().to_str().unwrap()], "").exits(0).says("1 taken");
    }
    school.run(&["history", "class"], "").exits(0).says("2 technicians, 5 circuits, 3 readings each");
    // One that was changed, with a digest that fits, is left out, and said to be.
    let path = school.records().remove(0);
    let mut changed = read(&path).unwrap();
    let reading = changed.circuits.iter_mut().flat_map(|circuit| &mut circuit.readings).next().unwrap();
    reading.meaning.as_mut().unwrap().standard_reading_pa.value += 3000.0;
    let changed = Record { digest: None, signer: None, signature: None, ..changed };
    let who = changed.technician.clone().unwrap();
    std::fs::write(&path, document(&changed).unwrap()).unwrap();
    let left = school.run(&["history", "class"], "").exits(1);
    left.complains(&format!("by {who}, is left out: "));
    // An order that its seed does not draw is another one.
    let mut forged = read(&benches[0].records()[0]).unwrap();
    let other = |plan: &mut Option<Plan>| plan.as_mut().unwrap().seed.as_mut().map(|seed| *seed ^= 1);
    other(&mut forged.plan);
    let What::Opened { opening } = &mut forged.journal[0].what else { panic!("no opening") };
    other(&mut opening.plan);
    let faults = Auditor::default().audit(document(&forged).unwrap().as_bytes()).faults;
    assert!(faults.iter().any(|fault| fault.to_string().contains("another order")), "{faults:?}");
}
