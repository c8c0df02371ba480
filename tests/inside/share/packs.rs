//! A procedure on its way from one shop to another: keys, trust, versions, and what a new version changes.

use std::fs;

use crate::share::{Pack, SignerStanding, Trust};
use crate::tests::support::{Home, brook, program, records_in, signer};
use serde_json::Value;

/// A shop that has signed a version of the invented procedure; returns the pack's text.
fn shared(shop: &Home, version: &str) -> String {
    shop.write("brook-b2.rhai", brook(version));
    shop.done(&["share", "brook-b2.rhai", "--as", "North Bench"]);
    shop.read(&format!("brook-b2-{version}.pack.json"))
}

/// A shop that has received a version from a signer whom it trusts.
fn received(text: &str, fingerprint: &str) -> Home {
    let shop = Home::with("b.pack.json", text);
    shop.done(&["receive", "b.pack.json", "--trust", fingerprint, "--yes"]);
    shop
}

/// A shop that has shared the first version, its pack, and a shop that has received it.
fn two_shops() -> (Home, String, Home) {
    let north = Home::new();
    let text = shared(&north, "1.0.0");
    let south = received(&text, &north.fingerprint());
    (north, text, south)
}

#[test]
fn a_key_is_made_once_with_a_name_and_is_its_owners_alone() {
    let shop = Home::with("brook-b2.rhai", brook("1.0.0"));
    shop.refuses(2, &["share", "brook-b2.rhai"], "--as NAME");
    assert!(!shop.shop().join("keys").exists());
    let ran = shop.run(&["share", "brook-b2.rhai", "--as", "North Bench"], "").exits(0);
    ran.complains("Made a key for \"North Bench\"");
    let key = shop.shop().join("keys/signing.json");
    let before = fs::read(&key).unwrap();
    shop.done(&["share", "brook-b2.rhai"]);
    shop.refuses(2, &["share", "brook-b2.rhai", "--as", "South Bench"], "signs as \"North Bench\"");
    assert_eq!(fs::read(&key).unwrap(), before);
}

#[cfg(unix)]
#[test]
fn a_key_that_others_can_read_signs_nothing() {
    use std::os::unix::fs::PermissionsExt;
    let shop = Home::new();
    shared(&shop, "1.0.0");
    let key = shop.shop().join("keys/signing.json");
    let mode = |path: &std::path::Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
    assert_eq!((mode(&key), mode(key.parent().unwrap())), (0o600, 0o700));
    fs::set_permissions(&key, fs::Permissions::from_mode(0o640)).unwrap();
    shop.refuses(2, &["share", "brook-b2.rhai"], "others can read");
    fs::set_permissions(&key, fs::Permissions::from_mode(0o600)).unwrap();
    fs::write(&key, "{}").unwrap();
    shop.refuses(2, &["share", "brook-b2.rhai"], "holds no key");
}

#[test]
fn two_shops_have_two_keys() {
    let (one, other) = (Home::new(), Home::new());
    shared(&one, "1.0.0");
    shared(&other, "1.0.0");
    assert_ne!(one.fingerprint(), other.fingerprint());
}

#[test]
fn the_same_procedure_and_key_give_the_same_pack() {
    let shop = Home::new();
    let first = shared(&shop, "1.0.0");
    fs::remove_file(shop.path("brook-b2-1.0.0.pack.json")).unwrap();
    assert_eq!(shared(&shop, "1.0.0"), first);
    // And another content under that name is not written over it.
    shop.write("brook-b2.rhai", brook("1.0.0").replace("boost", "lube"));
    shop.refuses(2, &["share", "brook-b2.rhai"], "exists with other content");
}

#[test]
fn only_what_others_can_receive_is_shared() {
    let shop = Home::new();
    for (name, text, wanted) in [
        ("Brook.rhai", brook("1.0.0"), "can't be the name"),
        ("b.1.rhai", brook("1.0.0"), "can't be the name"),
        ("brook.rhai", brook("01.0.0"), "version"),
        ("brook.rhai", brook("1.0.0").replace("caution", "cation"), "there is no word"),
        ("brook.rhai", brook("1.0.0") + "loop { }\n", "a loop does not end"),
    ] {
        shop.write(name, text);
        shop.refuses(1, &["share", name, "--as", "North Bench"], wanted);
    }
}

#[test]
fn what_is_installed_runs_by_its_name_and_the_record_says_who_signed_it() {
    let (north, _, south) = two_shops();
    south.says(&["rehearse", "brook-b2"], "It is signed by North Bench");
    let procedure = rehearsed(&south);
    assert_eq!(procedure["origin"], "shop");
    assert_eq!(procedure["signer"]["name"], "North Bench");
    assert_eq!(procedure["signer"]["fingerprint"], north.fingerprint());
}

#[test]
fn what_nobody_signed_can_be_used_and_the_record_says_so() {
    let shop = Home::with("brook-b2.rhai", brook("1.0.0"));
    shop.says(&["rehearse", "brook-b2.rhai"], "It is from a file, unsigned.");
    let procedure = rehearsed(&shop);
    assert_eq!((&procedure["origin"], &procedure["signer"]), (&Value::from("file"), &Value::Null));
    shop.done(&["rehearse", "osier-o7-rear"]);
    assert_eq!(rehearsed(&shop)["origin"], "shipped");
}

/// The procedure of the last rehearsal's record, which `records audit` finds in order.
fn rehearsed(shop: &Home) -> Value {
    let mut records = records_in(&shop.shop().join("rehearsals/records"));
    records.sort_by_key(|path| fs::metadata(path).unwrap().modified().unwrap());
    let record: Value = serde_json::from_slice(&fs::read(records.pop().unwrap()).unwrap()).unwrap();
    crate::record::validate(&record).unwrap();
    record["procedure"].clone()
}

#[test]
fn a_fingerprint_that_was_told_is_taken_with_any_spaces() {
    let north = Home::new();
    let text = shared(&north, "1.0.0");
    for told in [north.fingerprint().replace(' ', ""), north.fingerprint().replace(' ', " - ")] {
        received(&text, &told);
    }
}

#[test]
fn a_changed_key_for_a_known_name_is_refused_until_the_old_one_is_forgotten() {
    let (north, _, south) = two_shops();
    let false_north = Home::new();
    south.write("c.pack.json", shared(&false_north, "1.1.0"));
    let told = false_north.fingerprint();
    let said = south.refused(1, &["receive", "c.pack.json", "--trust", &told, "--yes"]);
    assert!(said.contains("\"North Bench\" is known here with another key"), "{said}");
    assert!(said.contains(&north.fingerprint()) && said.contains(&told), "{said}");
    south.done(&["trust", "forget", "north bench"]);
    south.refuses(1, &["rehearse", "brook-b2"], "whom this shop does not trust");
    south.done(&["receive", "c.pack.json", "--trust", &told, "--yes"]);
    south.done(&["rehearse", "brook-b2"]);
    south.refuses(1, &["rehearse", "brook-b2@1.0.0"], "does not trust");
}

#[test]
fn nobody_else_signs_in_the_shops_own_name() {
    let north = Home::new();
    shared(&north, "1.0.0");
    let stranger = Home::new();
    north.write("c.pack.json", shared(&stranger, "1.1.0"));
    let told = stranger.fingerprint();
    north.refuses(1, &["receive", "c.pack.json", "--trust", &told, "--yes"], "known here with another key");
    // What it signed itself, it need not be told to trust.
    north.write("d.pack.json", shared(&north, "1.2.0"));
    north.done(&["receive", "d.pack.json", "--yes"]);
}

#[test]
fn a_name_that_passes_for_a_known_one_is_pointed_out() {
    let folder = tempfile::tempdir().unwrap();
    let shop = crate::record::Shop::open(folder.path()).unwrap();
    let north = signer("North Bench", 1).signer();
    Trust::add(&shop, &north).unwrap();
    let trust = Trust::of(&shop).unwrap();
    for name in ["Nоrth Bench", "North-Bench", "NorthBench", "North Bench.", "Nort Bench", "Noｒth Bеnch"]
    {
        let standing = trust.standing(&signer(name, 2).signer());
        assert_eq!(standing, SignerStanding::Stranger(Some("North Bench".to_owned())), "{name}");
    }
    // The last one in letters of full width.
    for name in ["NORTH BENCH", "north bench", "Ｎｏｒｔｈ Bench"] {
        let other = signer(name, 2).signer();
        assert_eq!(trust.standing(&other), SignerStanding::OtherKey(north.clone()), "{name}");
        assert!(Trust::add(&shop, &other).is_err());
    }
    assert_eq!(trust.standing(&signer("South School", 2).signer()), SignerStanding::Stranger(None));
    assert_eq!(trust.standing(&signer("South School", 1).signer()), SignerStanding::OtherName(north.clone()));
    assert_eq!(trust.standing(&north), SignerStanding::Trusted);
    // The list is there again tomorrow.
    assert_eq!(Trust::of(&shop).unwrap().signers(), std::slice::from_ref(&north));
    fs::write(shop.trusted(), "{\"format\":\"spoolproof/trust/1\",\"signers\":[],\"signers\":[]}").unwrap();
    assert!(Trust::of(&shop).unwrap_err().to_string().contains("stands twice"));
}

#[test]
fn versions_stay_and_older_ones_are_refused_unless_asked_for() {
    let north = Home::new();
    let texts: Vec<_> = ["1.0.0", "1.2.0", "1.10.0"].iter().map(|version| shared(&north, version)).collect();
    let south = received(&texts[1], &north.fingerprint());
    south.write("old.json", &texts[0]);
    south.write("new.json", &texts[2]);
    south.refuses(1, &["receive", "old.json", "--yes"], "older than the one in use");
    south.refuses(2, &["rehearse", "brook-b2@1.0.0"], "installed are 1.2.0");
    south.done(&["receive", "new.json", "--yes"]);
    let said = south.done(&["receive", "old.json", "--yes", "--older"]);
    south.says(&["procedures"], "not what the name alone means: runs as brook-b2@");
    assert!(said.contains("this one runs as brook-b2@1.0.0"), "{said}");
    for (named, version) in [("brook-b2", "1.10.0"), ("brook-b2@1.2.0", "1.2.0"), ("brook-b2@1.0.0", "1.0.0")]
    {
        south.says(&["rehearse", named], &format!("version {version}"));
    }
    south.says(&["receive", "new.json"], "It is here already");
}

#[test]
fn a_version_never_changes() {
    let (north, _, south) = two_shops();
    fs::remove_file(north.path("brook-b2-1.0.0.pack.json")).unwrap();
    north.write("brook-b2.rhai", brook("1.0.0").replace("20.inHg", "18.inHg"));
    north.done(&["share", "brook-b2.rhai"]);
    south.write("c.json", north.read("brook-b2-1.0.0.pack.json"));
    south.refuses(1, &["receive", "c.json", "--yes", "--older"], "here with other content");
}

#[test]
fn a_shipped_procedure_has_versions_like_any_other() {
    let north = Home::new();
    let shipped = include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/procedures/osier-o7-rear.rhai"));
    north.write(
        "osier-o7-rear.png",
        include_bytes!(concat!(env!("CARGO_MANIFEST_DIR"), "/procedures/osier-o7-rear.png")),
    );
    let listed = north.json(&["procedures", "osier"]);
    let version = listed["procedures"][0]["version"].as_str().unwrap();
    north.write("osier-o7-rear.rhai", shipped.replacen(version, "99.0.0", 1));
    north.done(&["share", "osier-o7-rear.rhai", "--as", "North Bench"]);
    let south = received(&north.read("osier-o7-rear-99.0.0.pack.json"), &north.fingerprint());
    // Nobody takes its name over by a higher version.
    let said = south.refused(2, &["rehearse", "osier-o7-rear"]);
    assert!(said.contains("osier-o7-rear@99.0.0 (North Bench)") && said.contains("(shipped)"), "{said}");
    south.says(&["rehearse", "osier-o7-rear@99.0.0"], "version 99.0.0");
    south.done(&["rehearse", &format!("osier-o7-rear@{version}")]);
    assert_eq!(rehearsed(&south)["origin"], "shipped");
    // One that is shipped need not be received, and a forged one of that version can't be.
    north.write("osier-o7-rear.rhai", shipped.replacen("20.inHg", "19.inHg", 1));
    north.done(&["share", "osier-o7-rear.rhai"]);
    south.write("forged.json", north.read(&format!("osier-o7-rear-{version}.pack.json")));
    south.refuses(1, &["receive", "forged.json", "--yes", "--older"], "here with other content");
}

#[test]
fn an_open_session_goes_on_with_its_version_after_a_newer_one_was_installed() {
    let (north, _, south) = two_shops();
    south.write("answers", "Ana\n29.92 inHg\n20 C\n25\n5\n");
    south.run(&["guide", "brook-b2", "--answers", "answers"], "").exits(3);
    south.write("new.json", shared(&north, "1.1.0"));
    south.done(&["receive", "new.json", "--yes"]);
    let resumed = south.run(&["guide", "--resume"], "").exits(3).says("version 1.0.0");
    assert!(!resumed.out.contains("has changed since"), "{}", resumed.out);
}

#[test]
fn what_is_installed_and_was_altered_is_not_used() {
    let north = Home::new();
    let text = shared(&north, "1.0.0");
    let folder = |shop: &Home| shop.shop().join("procedures/brook-b2/1.0.0");
    let alter = |file: &str, from: &str, to: &str, wanted: &str| {
        let south = received(&text, &north.fingerprint());
        let path = folder(&south).join(file);
        let before = fs::read_to_string(&path).unwrap();
        fs::write(&path, before.replacen(from, to, 1)).unwrap();
        south.refuses(1, &["rehearse", "brook-b2"], wanted);
        south.run(&["procedures"], "").exits(1).says("osier-o7-rear");
    };
    alter("brook-b2.rhai", "20.inHg", "18.inHg", "has been altered since it was signed");
    alter("pack.json", "20.inHg", "18.inHg", "the signature does not fit");
    alter("pack.json", "North Bench", "South Bench", "the signature does not fit");

    // A pack that a stranger signed, put in place of the one that was received.
    let program = program("brook-b2", &[("brook-b2.rhai", &brook("1.0.0"))]);
    let stranger = Pack::make(&program, &signer("Stranger", 7));
    let south = received(&text, &north.fingerprint());
    fs::write(folder(&south).join("pack.json"), stranger.unwrap().document().unwrap()).unwrap();
    south.refuses(1, &["rehearse", "brook-b2"], "Stranger");

    // A whole version under another's number.
    let south = received(&text, &north.fingerprint());
    fs::rename(folder(&south), folder(&south).with_file_name("9.0.0")).unwrap();
    south.refuses(1, &["rehearse", "brook-b2"], "is not the procedure and version of its folder");
}

#[test]
fn a_pack_with_modules_is_installed_with_them_and_runs() {
    let north = Home::with(
        "steps.rhai",
        "fn walk(t) { t.ready(\"Hold the valve inboard.\"); t.read(\"inboard\"); }\n",
    );
    let main = brook("1.0.0").replace("test(feed);", "test(feed, |t| steps::walk(t));");
    north.write("brook-b2.rhai", format!("import \"steps\" as steps;\n{main}"));
    north.done(&["share", "brook-b2.rhai", "--as", "North Bench"]);
    let south = received(&north.read("brook-b2-1.0.0.pack.json"), &north.fingerprint());
    fs::remove_file(north.path("steps.rhai")).unwrap();
    south.says(&["rehearse", "brook-b2"], "Hold the valve inboard.");
    assert!(south.shop().join("procedures/brook-b2/1.0.0/steps.rhai").is_file());
}

#[test]
fn what_was_received_is_passed_on_as_it_was_signed() {
    let (_, text, south) = two_shops();
    south.says(&["share", "brook-b2", "--as", "South School"], "signed by North Bench");
    assert_eq!(south.read("brook-b2-1.0.0.pack.json"), text);
}

#[test]
fn nothing_is_installed_where_only_a_check_was_asked_for() {
    let north = Home::new();
    let shop = Home::with("b.json", shared(&north, "1.0.0"));
    let document = shop.json(&["receive", "b.json", "--check"]);
    assert_eq!(document["standing"], "stranger");
    assert_eq!(document["novelty"], "new");
    assert_eq!(document["installed"], false);
    assert_eq!(document["signer"]["fingerprint"], north.fingerprint());
    assert!(!shop.shop().join("procedures").exists() && !shop.shop().join("trusted.json").exists());
}

#[test]
fn procedures_are_found_by_unit_symptom_and_word() {
    let shop = Home::new();
    let ids = |arguments: &[&str]| -> Vec<String> {
        let document = shop.json(arguments);
        let procedures = document["procedures"].as_array().unwrap().clone();
        procedures.iter().map(|procedure| procedure["id"].as_str().unwrap().to_owned()).collect()
    };
    let all = ids(&["procedures"]);
    assert!(all.len() >= 4 && all.contains(&"osier-o7-rear".to_owned()), "{all:?}");
    assert_eq!(ids(&["procedures", "OSIER o7"]), ["osier-o7-rear"]);
    assert!(ids(&["procedures", "flare 2-3"]).contains(&"osier-o7-rear".to_owned()));
    assert!(ids(&["procedures", "no such thing"]).is_empty());
    shop.write("brook-b2.rhai", brook("1.0.0"));
    assert_eq!(ids(&["procedures", "boost", "brook", "--file", "brook-b2.rhai"]), ["brook-b2"]);
    let document = shop.json(&["procedures", "brook", "--file", "brook-b2.rhai"]);
    let entry = &document["procedures"][0];
    assert_eq!((&entry["origin"], &entry["signer"]), (&Value::from("file"), &Value::Null));
    assert_eq!(entry["circuits"], serde_json::json!(["boost feed"]));
}

#[test]
fn who_signed_which_is_shown_before_an_installation() {
    let (_, _, south) = two_shops();
    let west = Home::with("brook-b2.rhai", brook("1.1.0").replace("15.inHg", "14.inHg"));
    west.done(&["share", "brook-b2.rhai", "--as", "West School"]);
    south.write("w.json", fs::read(west.path("brook-b2-1.1.0.pack.json")).unwrap());
    let said = south.done(&["receive", "w.json", "--check"]);
    assert!(said.contains("signed by West School, whom nobody here knows"), "{said}");
    assert!(said.contains("in use here, which is signed by North Bench"), "{said}");
    assert!(said.contains("! another signer than that of the version in use"), "{said}");
    assert!(said.contains("! limit moved: boost feed leaks from 15 inHg to 14 inHg"), "{said}");
    let document = south.json(&["receive", "w.json", "--check"]);
    assert_eq!(document["current"]["signer"]["name"], "North Bench");
    assert_eq!(document["changes"][0]["change"], "limit_moved");
}

#[test]
fn a_folder_of_packs_is_browsed_and_received_from() {
    let north = Home::new();
    for version in ["1.0.0", "1.10.0", "1.9.0"] {
        north.write("brook-b2.rhai", brook(version));
        north.done(&["share", "brook-b2.rhai", "--as", "North Bench", "--folder", "drive"]);
    }
    north.done(&["share", "osier-o7-rear", "--folder", "drive"]);
    let drive = north.path("drive");
    let south = Home::new();
    let listed = south.json(&["receive".as_ref(), drive.as_os_str()]);
    for (n, version) in ["1.0.0", "1.9.0", "1.10.0"].iter().enumerate() {
        let procedure = &listed["procedures"][n];
        assert_eq!((&procedure["id"], &procedure["version"]), (&"brook-b2".into(), &(*version).into()));
    }
    let said = south.done(&["receive".as_ref(), drive.as_os_str()]);
    assert!(said.contains("late upshift") && said.contains("whom nobody here knows"), "{said}");
    let receive = |named: &str| {
        let told = north.fingerprint();
        south.run(&["receive", drive.to_str().unwrap(), named, "--trust", &told, "--yes"], "")
    };
    receive("brook-b2").exits(0);
    south.says(&["rehearse", "brook-b2"], "version 1.10.0");
    receive("brook-b2@2.0.0").exits(2);

    // Another content under the name of a pack, two files of one version, and one that is not in order.
    north.write("brook-b2.rhai", brook("1.9.0").replace("boost", "lube"));
    north.refuses(2, &["share", "brook-b2.rhai", "--folder", "drive"], "exists with other content");
    let pack = drive.join("brook-b2-1.9.0.pack.json");
    fs::copy(drive.join("brook-b2-1.0.0.pack.json"), &pack).unwrap();
    receive("brook-b2@1.0.0").anyhow().complains("are the same version of brook-b2");
    fs::write(&pack, "{}").unwrap();
    let ran = south.run(&["receive".as_ref(), drive.as_os_str()], "").exits(1);
    ran.complains("left out").says("brook-b2@1.10.0");
    receive("brook-b2@1.10.0").exits(0);
}

#[test]
fn a_signer_who_was_forgotten_is_trusted_again_by_a_pack_that_is_here_already() {
    let (north, _, south) = two_shops();
    south.done(&["trust", "forget", "North Bench"]);
    let told = north.fingerprint();
    south.says(&["receive", "b.pack.json", "--trust", &told], "its signer is trusted from now on");
    south.says(&["trust"], "North Bench");
    south.says(&["receive", "b.pack.json"], "nothing was installed");
}
