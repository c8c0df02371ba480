//! Complaints as people say them lead to what procedures call them.

use crate::record::{Circuit, Plan, Sayings};
use crate::tests::support::{Home, Table, run};
use serde_json::json;

#[test]
fn every_generic_code_of_the_open_list_is_known_and_reports_what_the_list_says() {
    // The list's own source stands in its first line.
    let sayings = Sayings::with(None).unwrap();
    let table = Table::read("13_obd_generic_p07xx.csv");
    let mut n_codes = 0;
    for row in table.rows() {
        let saying =
            sayings.of(row.text("code")).unwrap_or_else(|| panic!("{} is missing", row.text("code")));
        assert_eq!(saying.reports, row.text("meaning"));
        n_codes += 1;
    }
    assert_eq!(n_codes, 73);
}

#[test]
fn slang_and_abbreviations_are_put_in_the_words_of_procedures() {
    // Common practice, no source.
    let sayings = Sayings::with(None).unwrap();
    for (said, meant) in [
        ("TCC shutters", "converter shudder"),
        ("torque converter chatters when warm", "converter shudder when warm"),
        ("Neutrals out 2-3", "flare 2 3"),
        ("bangs into second", "harsh into second"),
        ("morning sickness", "drains overnight"),
    ] {
        assert_eq!(sayings.meant(said), [meant], "{said}");
    }
    assert!(sayings.meant("paint is peeling").is_empty());
}

#[test]
fn a_plan_from_a_saying_is_that_of_the_words_and_keeps_both() {
    let circuit = |name: &str, symptom: &str| -> Circuit {
        serde_json::from_value(json!({ "name": name, "symptoms": [symptom] })).unwrap()
    };
    let circuits = [circuit("lock-up", "converter shudder"), circuit("green", "flare 2-3")];
    let meant = Sayings::with(None).unwrap().meant("p0741");
    let covered: Vec<_> = meant
        .into_iter()
        .filter(|words| Plan::from_complaints(std::slice::from_ref(words), &circuits).is_ok())
        .collect();
    let plan = Plan::from_complaints(&covered, &circuits).unwrap().given_as(&["p0741".to_owned()]);
    assert_eq!(
        (plan.complaints, plan.meant),
        (vec!["p0741".to_owned()], vec!["converter shudder".to_owned()])
    );
    assert_eq!(plan.circuits[0].circuit, "lock-up");
}

#[test]
fn a_customers_words_plan_a_session_whose_record_is_in_order() {
    let home = Home::new();
    let said = |complaint: &str| {
        run(&mut home.command(&["guide", "osier-o7-rear", "--complaint", complaint]), "").anyhow()
    };
    assert!(said("TCC shutters").says("is looked for as: converter shudder").out.contains("lock-up control"));
    said("P0741")
        .says("(converter clutch: does not apply or performance) is looked for as: converter shudder;");
    said("P0743").complains("The code reports: converter clutch: electrical.");
    said("purple smoke")
        .complains("covers \"purple smoke\"")
        .complains("Nearest to it: ")
        .complains("procedures osier-o7-rear");
    home.write("data/spoolproof/sayings.csv", "said,means,reports\nwobbles uphill,flare 2-3,\n");
    said("wobbles uphill").says("is looked for as: flare 2-3.");
    home.write("data/spoolproof/sayings.csv", "wobbles uphill,flare 2-3\n");
    said("wobbles uphill").complains("sayings.csv").complains("each row is said,means,reports");
}

#[test]
fn complaints_are_understood_in_any_order_and_inflection() {
    // Common practice, no source.
    let home = Home::new();
    let plans = |complaint: &str, symptom: &str| {
        let ran = run(&mut home.command(&["guide", "osier-o7-rear", "--complaint", complaint]), "").anyhow();
        assert!(ran.out.contains(symptom), "{complaint}: {}{}", ran.out, ran.err);
    };
    for (complaint, symptom) in [
        ("shifts late", "late upshift"),
        ("late up shift", "late upshift"),
        ("slipping", "slips"),
        ("Shutter", "converter shudder"),
        ("won't move in reverse", "slips in reverse"),
        ("lock-up chatter", "converter shudder"),
        ("TCC stuck on", "converter shudder"),
        ("delayed forward", "late drive engagement"),
    ] {
        plans(complaint, symptom);
    }
}

/// Bushings bear a shaft and bushes grow; a spring is no form of another word, and several are springs.
#[test]
fn a_thing_whose_name_ends_like_a_form_of_another_word_is_no_form_of_it() {
    use crate::record::nearest_symptoms;
    assert_eq!(nearest_symptoms("bushing", &["bush fire", "burnt bushings"], 1), ["burnt bushings"]);
}

#[test]
fn codes_with_commas_are_several_complaints_and_none_of_them_is_lost() {
    let home = Home::new();
    let said = |complaint: &str| {
        run(&mut home.command(&["guide", "osier-o7-rear", "--complaint", complaint]), "").anyhow()
    };
    said("P0741, P0743")
        .says(
            "\"P0741\" (converter clutch: does not apply or performance) is looked for as: converter shudder",
        )
        .says("\"P0743\" (converter clutch: electrical): no circuit of this procedure is named for it.");
    said("P0741 P0736").says("\"P0736\" (reverse: wrong ratio) is looked for as: slips in reverse");
}

#[test]
fn what_people_say_finds_procedures_and_the_name_of_one_tells_all_that_it_is_for() {
    let home = Home::new();
    home.run(&["procedures", "TCC"], "").anyhow().says("osier-o7-rear@").says("for converter shudder");
    home.run(&["procedures", "osier-o7-rear"], "").anyhow().says("late reverse").says("converter shudder");
}
