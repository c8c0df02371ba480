//! Packs that were damaged, forged or made to harm: each is refused, with an error that says what is wrong.

use crate::console::hidden;
use crate::share::{LARGEST_PACK, OwnKey, Pack, PackedFile, signed_bytes};
use crate::tests::support::{Home, brook, file, keyed, program, sign, signer, small_pack};
use serde_json::{Value, json};

/// A pack as a document that can be tampered with.
fn document() -> Value {
    serde_json::from_str(&small_pack().document().unwrap()).unwrap()
}

/// Reads a document as a pack, and its procedure; returns what is wrong with it.
#[track_caller]
fn error_of(document: &Value) -> String {
    let bytes = serde_json::to_vec_pretty(document).unwrap();
    let read = Pack::read(&bytes).and_then(|pack| pack.program().map(|_| ()));
    let error = read.expect_err("the pack was taken").to_string();
    assert!(error.len() < 4_000, "{} bytes of error", error.len());
    error
}

/// Asserts that a document which was tampered with is refused with this in the error, signed anew or not.
#[track_caller]
fn refused(tampered: &Value, wanted: &str) {
    let signed = sign(tampered.clone(), &signer("North Bench", 1));
    let error = error_of(&signed);
    assert!(error.contains(wanted), "{error}");
    // Without a new signature, it is that which does not fit, unless the document is not even built like a pack.
    error_of(tampered);
}

#[test]
fn a_pack_is_read_back_as_it_was_made() {
    let pack = small_pack();
    let read = Pack::read(pack.document().unwrap().as_bytes()).unwrap();
    assert_eq!(read, pack);
    assert_eq!(read.program().unwrap().source.files[0].text, brook("1.0.0"));
}

#[test]
fn every_cut_of_a_pack_is_refused() {
    let text = small_pack().document().unwrap();
    let whole = text.trim_end().len();
    for length in 0..whole {
        assert!(Pack::read(&text.as_bytes()[..length]).is_err(), "cut after {length} bytes");
    }
}

#[test]
fn every_flipped_bit_of_a_pack_is_refused() {
    let text = small_pack().document().unwrap();
    for at in 0..text.len() {
        for bit in 0..8 {
            let mut bytes = text.clone().into_bytes();
            bytes[at] ^= 1 << bit;
            let read = Pack::read(&bytes);
            assert!(read.is_err(), "bit {bit} of byte {at}: {}", String::from_utf8_lossy(&bytes));
        }
    }
}

#[test]
fn a_pack_has_nothing_that_the_schema_does_not_know() {
    let edits: &[(&str, Value, &str)] = &[
        ("/format", json!("spoolproof/pack/2"), "/format"),
        ("/format", json!(1), "/format"),
        ("/id", json!("Brook"), "/id"),
        ("/id", json!("x".repeat(65)), "/id"),
        ("/id", json!("x".repeat(500_000)), "/id"),
        ("/title", json!(""), "/title"),
        ("/unit", json!(5), "/unit"),
        ("/version", json!(1.0), "/version"),
        ("/version", json!(9_007_199_254_740_993_u64), "too large"),
        ("/version", json!("1.0"), "/version"),
        ("/files", json!([]), "/files"),
        ("/files", json!(vec![file("brook-b2.rhai", ""); 17]), "/files"),
        ("/files/0/lines", json!([]), "/files/0/lines"),
        ("/files/0/lines", json!(["a\nb"]), "/files/0/lines/0"),
        ("/files/0/lines/0", json!({ "a": 1 }), "/files/0/lines/0"),
        ("/files/0/sha256", json!("A".repeat(64)), "/files/0/sha256"),
        ("/signature", json!("0".repeat(127)), "/signature"),
        ("/signer/public_key", json!("0".repeat(63)), "/signer/public_key"),
        ("/signer/more", json!(true), "more"),
        ("/more", json!(true), "more"),
    ];
    for (place, value, wanted) in edits {
        let mut tampered = document();
        let (parent, key) = place.rsplit_once('/').unwrap();
        let parent = tampered.pointer_mut(parent).unwrap();
        match parent {
            Value::Array(items) => items[0] = value.clone(),
            parent => parent[key] = value.clone(),
        }
        let error = error_of(&tampered);
        assert!(error.contains(wanted), "{place}: {error}");
    }
    for key in ["format", "id", "title", "unit", "version", "files", "signer", "signature"] {
        let mut tampered = document();
        tampered.as_object_mut().unwrap().remove(key);
        assert!(error_of(&tampered).contains(key));
    }
}

#[test]
fn no_name_leads_out_of_the_folder_or_to_a_device() {
    let names = keyed(
        "../brook-b2.rhai | .. | . | | /etc/brook-b2.rhai | a/brook-b2.rhai | ..\\brook-b2.rhai | C:brook-b2.rhai \
         | brook-b2.rhai/ | brook-b2.rhai\u{0} | .rhai | brook-b2 | brook-b2.RHAI | brook-b2.rhai.rhai | con.rhai \
         | NUL.rhai | com1.rhai | br\u{f6}ok.rhai | brook b2.rhai | -.rhai/../x | other.rhai",
    );
    assert_eq!(names.len(), 21);
    for name in names {
        let mut tampered = document();
        tampered["files"][0]["name"] = Value::from(name);
        refused(&tampered, "");
        // The same for a module.
        let mut tampered = document();
        let module = file(name, "fn x() { 1 }");
        tampered["files"].as_array_mut().unwrap().push(module);
        if name != "other.rhai" {
            refused(&tampered, "");
        }
    }
    for id in ["../x", "..", "", ".", "a/b", "con", "nul", "lpt1", "a.b", "A", "a b", "\u{e4}"] {
        let mut tampered = document();
        tampered["id"] = Value::from(id);
        tampered["files"][0]["name"] = Value::from(format!("{id}.rhai"));
        refused(&tampered, "");
    }
    for version in ["1.0.0/../../x", "..", "1.0.0 ", "1.0.00", "01.0.0", "1.0.-1", "1.0.0\n", "1000000.0.0.0"]
    {
        let mut tampered = document();
        tampered["version"] = Value::from(version);
        refused(&tampered, "version");
    }
}

#[test]
fn names_that_some_systems_take_for_one_are_refused() {
    for (one, other) in
        [("steps.rhai", "Steps.rhai"), ("steps.rhai", "steps.rhai"), ("brook-b2.rhai", "Brook-B2.rhai")]
    {
        let mut tampered = document();
        let files = tampered["files"].as_array_mut().unwrap();
        if one != "brook-b2.rhai" {
            files.push(file(one, "fn x() { 1 }"));
        }
        files.push(file(other, "fn x() { 2 }"));
        refused(&tampered, "are one file on some systems");
    }
}

#[test]
fn a_signature_over_something_else_is_refused() {
    let north = signer("North Bench", 1);
    let other = Pack::make(&program("brook-b2", &[("brook-b2.rhai", &brook("1.0.1"))]), &north).unwrap();
    let other: Value = serde_json::from_str(&other.document().unwrap()).unwrap();
    let mut tampered = document();
    tampered["signature"] = other["signature"].clone();
    assert!(error_of(&tampered).contains("the signature does not fit"));

    // The bytes of the file instead of the canonical form.
    let mut tampered = document();
    tampered["signature"] = Value::from(north.sign(small_pack().document().unwrap().as_bytes()));
    assert!(error_of(&tampered).contains("the signature does not fit"));

    // Another's key, the first one's name.
    let mut tampered = sign(document(), &signer("North Bench", 2));
    tampered["signer"]["public_key"] = document()["signer"]["public_key"].clone();
    assert!(error_of(&tampered).contains("changed after \"North Bench\" signed it"));

    // A name of somebody else over the first one's signature.
    let mut tampered = document();
    tampered["signer"]["name"] = Value::from("South Bench");
    assert!(error_of(&tampered).contains("the signature does not fit"));
}

#[test]
fn a_file_that_is_not_the_one_of_its_digest_is_refused() {
    let mut tampered = document();
    tampered["files"][0]["lines"][1] = Value::from("");
    refused(&tampered, "brook-b2.rhai is not the file of its digest");
}

#[test]
fn a_pack_that_says_otherwise_than_its_procedure_is_refused() {
    for (key, value) in [
        ("title", json!("Another")),
        ("unit", Value::Null),
        ("unit", json!("Another")),
        ("version", json!("9.9.9")),
    ] {
        let mut tampered = document();
        tampered[key] = value;
        refused(&tampered, &format!("it says that the {key} is"));
    }
}

#[test]
fn a_procedure_with_faults_or_without_its_modules_is_refused() {
    for (text, wanted) in [
        (brook("1.0.0").replace("caution", "cation"), "there is no word \"cation\""),
        (format!("import \"steps\" as s;\n{}", brook("1.0.0")), "there is no module \"steps\""),
        (
            format!("import \"../steps\" as s;\n{}", brook("1.0.0")),
            "is not a module of the procedure's own folder",
        ),
        (format!("{}// \u{202e}\n", brook("1.0.0")), "the hidden character U+202E"),
        ("let x = ".to_owned(), "the procedure has faults"),
        (String::new(), "the procedure has faults"),
        ("x".repeat(600_000), "larger than"),
    ] {
        let mut tampered = document();
        tampered["files"][0] = file("brook-b2.rhai", &text);
        refused(&tampered, wanted);
    }
}

#[test]
fn names_of_signers_cannot_garble_the_screen_or_pass_for_others() {
    for name in [
        "",
        " ",
        " North",
        "North ",
        "North  Bench",
        "North\tBench",
        "North\nBench",
        "\u{1b}[2JNorth",
        "Nor\u{202e}th",
        "North\u{200b}",
        "\u{feff}North",
        "North\u{7f}",
        "North\u{9b}",
        &"n".repeat(65),
    ] {
        let mut tampered = document();
        let own = signer("North Bench", 1);
        tampered["signer"] = json!({ "name": name, "public_key": own.signer().public_key });
        tampered["signature"] = Value::from(own.sign(&signed_bytes(&tampered).unwrap()));
        error_of(&tampered);
        assert!(OwnKey::from_secret(name, [1; 32]).is_err(), "{name:?}");
    }
}

#[test]
fn what_a_hostile_pack_says_of_itself_never_reaches_the_screen_raw() {
    let shop = Home::new();
    for (key, text) in [
        ("title", "T\u{1b}[2J\u{202e}\u{9b}1m"),
        ("unit", "U\u{1b}]0;x\u{7}"),
        ("id", "i\u{1b}[2J"),
        ("format", "f\u{1b}[2J\u{2066}"),
    ] {
        let mut tampered = document();
        tampered[key] = Value::from(text);
        let signed = sign(tampered, &signer("Stranger", 7));
        shop.write("hostile.json", serde_json::to_vec(&signed).unwrap());
        let ran = shop.run(&["receive", "hostile.json", "--check"], "").exits(1);
        assert_eq!(hidden(&ran.out).or(hidden(&ran.err)), None, "{}{}", ran.out, ran.err);
    }
}

#[test]
fn what_is_too_large_or_no_file_is_not_read() {
    let shop = Home::with("large.json", vec![b' '; LARGEST_PACK as usize + 1]);
    shop.refuses(2, &["receive", "large.json"], "larger than 8192 KiB");
    shop.refuses(2, &["receive", "/dev/zero"], "is not a file");
    shop.refuses(2, &["receive", "nothing.json"], "nothing.json");
    std::fs::create_dir(shop.path("empty")).unwrap();
    shop.refuses(2, &["receive", "empty"], "holds no packs");
}

#[test]
fn a_valid_signature_by_a_stranger_installs_nothing_and_trusts_nobody() {
    let shop = Home::with("brook.json", small_pack().document().unwrap());
    shop.refuses(1, &["receive", "brook.json", "--yes"], "Nobody here trusts \"North Bench\" yet");
    let wrong = ["--trust", "00000 00000 00000 00000 00000 00000"];
    let receive = [&["receive", "brook.json", "--yes"], &wrong[..]].concat();
    shop.refuses(1, &receive, "not the one that you were told");
    assert!(shop.json(&["trust", "list"])["trusted"].as_array().unwrap().is_empty());
    assert!(!shop.shop().join("procedures").exists());
    shop.refuses(2, &["rehearse", "brook-b2"], "there is no procedure");
}

#[test]
fn files_of_a_pack_are_joined_by_line_feeds_to_the_byte() {
    for text in ["", "\n", "a", "a\n", "a\r\nb\r\n", "\u{feff}a\n\n\n", "µ ½ 日本"] {
        let lines = text.split('\n').map(str::to_owned).collect();
        let packed = PackedFile { name: "x.rhai".to_owned(), sha256: String::new(), lines };
        assert_eq!(packed.bytes(), text.as_bytes());
    }
}
