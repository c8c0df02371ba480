//! A version that is to be used no longer, names that two signers use, and what a pack shows before it is taken.

use std::fs;

use crate::tests::support::{Home, brook};

/// A shop that signs as this; returns the pack of a version.
fn shared(shop: &Home, name: &str, text: &str, version: &str) -> String {
    shop.write("brook-b2.rhai", text);
    shop.done(&["share", "brook-b2.rhai", "--as", name]);
    shop.read(&format!("brook-b2-{version}.pack.json"))
}

/// Receives a pack from a signer whose fingerprint was told.
fn receive(shop: &Home, pack: &str, from: &Home) {
    shop.write("handed.json", pack);
    shop.done(&["receive", "handed.json", "--trust", &from.fingerprint(), "--yes"]);
}

/// A shop with two versions of another's, and the notice that withdraws the later one.
fn withdrawn() -> (Home, Home, String) {
    let (north, south) = (Home::new(), Home::new());
    for version in ["1.0.0", "1.1.0"] {
        receive(&south, &shared(&north, "North Bench", &brook(version), version), &north);
    }
    north.done(&["share", "--withdraw", "brook-b2@1.1.0", "--reason", "Its limit condemns sound bores."]);
    let notice = north.read("brook-b2-1.1.0.withdrawn.json");
    (north, south, notice)
}

#[test]
fn a_notice_of_its_signer_puts_a_version_out_of_use_and_says_why_from_then_on() {
    let (north, south, notice) = withdrawn();
    south.write("answers", "Ana\n29.92 inHg\n20 C\n25\n5\n");
    south.run(&["guide", "brook-b2", "--answers", "answers"], "").exits(3);
    south.write("n.withdrawn.json", &notice);
    let said = south.done(&["receive", "n.withdrawn.json"]);
    let why = "brook-b2 1.1.0 was withdrawn by North Bench: Its limit condemns sound bores.";
    assert!(said.contains(why) && said.contains("was begun with it"), "{said}");
    // The earlier version is what the name means now; the later one and its pack are refused with the reason.
    south.says(&["rehearse", "brook-b2"], "version 1.0.0");
    south.refuses(1, &["rehearse", "brook-b2@1.1.0"], why);
    let pack = north.read("brook-b2-1.1.0.pack.json");
    south.write("handed.json", &pack);
    south.refuses(1, &["receive", "handed.json", "--yes"], why);
    fs::remove_dir_all(south.shop().join("procedures/brook-b2/1.1.0")).unwrap();
    south.refuses(1, &["receive", "handed.json", "--yes"], why);
    // A session that was begun with it goes on, and says so.
    let resumed = south.run(&["guide", "--resume"], "park\n").exits(3);
    resumed.says(why);
    // Nor does its own author use it any longer.
    north.write("again.pack.json", pack);
    north.refuses(1, &["receive", "again.pack.json", "--yes"], why);
    north.refuses(1, &["share", "brook-b2.rhai"], why);
}

#[test]
fn a_folder_that_holds_the_notice_is_enough_and_shows_what_each_pack_is() {
    let (north, south, notice) = withdrawn();
    fs::create_dir(south.path("packs")).unwrap();
    for version in ["1.0.0", "1.1.0"] {
        let name = format!("brook-b2-{version}.pack.json");
        south.write(&format!("packs/{name}"), north.read(&name));
    }
    let later = shared(&north, "North Bench", &brook("1.2.0"), "1.2.0");
    south.write("packs/brook-b2-1.2.0.pack.json", later);
    south.write("packs/brook-b2-1.1.0.withdrawn.json", notice);
    let said = south.done(&["receive", "packs"]);
    for wanted in
        ["here already; brook-b2 1.1.0 was withdrawn by North Bench", "newer than 1.1.0, which is here"]
    {
        assert!(said.contains(wanted), "no {wanted:?} in {said}");
    }
    south.says(&["rehearse", "brook-b2"], "version 1.0.0");
}

#[test]
fn nobody_withdraws_what_another_has_signed() {
    let (_, south, notice) = withdrawn();
    let stranger = Home::new();
    shared(&stranger, "South School", &brook("1.1.0"), "1.1.0");
    stranger.done(&["share", "--withdraw", "brook-b2@1.1.0", "--reason", "Buy mine."]);
    south.write("s.withdrawn.json", stranger.read("brook-b2-1.1.0.withdrawn.json"));
    south.refuses(1, &["receive", "s.withdrawn.json"], "whom nobody here trusts");
    south.write("f.withdrawn.json", notice.replace("condemns sound bores", "is fine"));
    south.refuses(1, &["receive", "f.withdrawn.json"], "the signature does not fit");
    south.says(&["rehearse", "brook-b2"], "version 1.1.0");
}

#[test]
fn a_shop_can_decide_for_itself_and_change_its_mind() {
    let (_, south, _) = withdrawn();
    let why = "brook-b2 1.1.0 was withdrawn by this shop: Not with our plates";
    south.says(&["trust", "withdraw", "brook-b2@1.1.0", "--reason", "Not with our plates."], why);
    south.says(&["trust"], why);
    south.refuses(1, &["rehearse", "brook-b2@1.1.0"], why);
    south.says(&["rehearse", "brook-b2"], "version 1.0.0");
    south.done(&["trust", "restore", "brook-b2@1.1.0"]);
    south.says(&["rehearse", "brook-b2"], "version 1.1.0");
    south.refuses(2, &["trust", "restore", "brook-b2@1.1.0"], "has not withdrawn");
}

#[test]
fn a_name_that_two_signers_use_is_asked_for_and_forgetting_one_leaves_the_other() {
    let (_, south, _) = withdrawn();
    let fork = Home::new();
    receive(&south, &shared(&fork, "South School", &brook("2.0.0"), "2.0.0"), &fork);
    let said = south.refused(2, &["rehearse", "brook-b2"]);
    for wanted in ["several signers", "brook-b2@1.1.0 (North Bench)", "brook-b2@2.0.0 (South School)"] {
        assert!(said.contains(wanted), "no {wanted:?} in {said}");
    }
    south.says(&["rehearse", "brook-b2@2.0.0"], "version 2.0.0");
    south.done(&["trust", "forget", "South School"]);
    south.says(&["rehearse", "brook-b2"], "version 1.1.0");
}

#[test]
fn a_first_pack_shows_its_circuits_cautions_remarks_and_words_before_it_is_taken() {
    let (north, south) = (Home::new(), Home::new());
    let text = brook("1.0.0")
        .replace("test(feed);", "test(feed);\nif ask_yes(\"Is it clean?\") { say(\"Good.\"); }");
    south.write("handed.json", shared(&north, "North Bench", &text, "1.0.0"));
    let said = south.done(&["receive", "handed.json", "--check"]);
    for wanted in [
        "circuit boost feed. Holds from 20 inHg up",
        "caution: The pump's suction holds",
        "what its text calls, and how often it stands there: ask_yes 1, caution 1, say 1, test 1",
    ] {
        assert!(said.contains(wanted), "no {wanted:?} in {said}");
    }
    let bare = text.lines().filter(|line| !line.starts_with("caution")).collect::<Vec<_>>().join("\n");
    let bare = bare.replace("1.0.0", "1.1.0");
    south.write("bare.json", shared(&north, "North Bench", &bare, "1.1.0"));
    south.says(&["receive", "bare.json", "--check"], "! it has no caution");
}

#[test]
fn an_explained_change_hides_no_other() {
    let (north, south) = (Home::new(), Home::new());
    let text = |version: &str| {
        brook(version).replace(
            "test(feed);",
            "test(feed, |t| { let a = t.read(\"a\"); t.read(\"b\"); if a.leaks { t.finding(\"Worn.\"); } });\n",
        )
    };
    receive(&south, &shared(&north, "North Bench", &text("1.0.0"), "1.0.0"), &north);
    let other = text("1.1.0").replace("a.leaks", "a.holds").replace("t.read(\"b\")", "t.trial(\"b\")");
    let other = other.replace("20.inHg", "19.inHg");
    south.write("new.json", shared(&north, "North Bench", &other, "1.1.0"));
    let said = south.done(&["receive", "new.json", "--check"]);
    for wanted in [
        "limit moved: boost feed",
        "! lines of its text that are others",
        "> test(feed, |t| { let a = t.read(\"a\"); t.trial(\"b\"); if a.holds",
    ] {
        assert!(said.contains(wanted), "no {wanted:?} in {said}");
    }
}

#[test]
fn a_pack_can_be_proofread_rehearsed_and_printed_and_is_guided_only_when_received() {
    let (north, south) = (Home::new(), Home::new());
    south.write("b.pack.json", shared(&north, "North Bench", &brook("1.0.0"), "1.0.0"));
    for command in ["proofread", "rehearse", "worksheet"] {
        south.done(&[command, "b.pack.json"]);
    }
    south.refuses(2, &["guide", "b.pack.json"], "receive it first");
}
