//! Pictures in packs: signed, looked at, installed, and never more than the procedure shows.

use serde_json::{Value, json};

use crate::procedure::{Program, Source};
use crate::record::sha256;
use crate::share::{Pack, difference};
use crate::tests::support::{Home, brook, jpeg, png, sign, signer};

/// The invented procedure with a picture and a port on it.
fn pictured(version: &str, at: &str) -> String {
    let keys = format!("version: \"{version}\", picture: \"b2.png\", ports: #{{ \"2\": {at} }} ");
    brook(version).replace(&format!("version: \"{version}\" "), &keys)
}

fn program(version: &str, at: &str, picture: Vec<u8>) -> Program {
    let text = ("brook-b2.rhai".to_owned(), pictured(version, at).into_bytes());
    let source = Source::from_files("brook-b2", [text, ("b2.png".to_owned(), picture)]).unwrap();
    Program::compile(source).unwrap()
}

fn document() -> Value {
    let pack = Pack::make(&program("1.0.0", "[9, 9]", png(40, 30)), &signer("North Bench", 1)).unwrap();
    serde_json::from_str(&pack.document().unwrap()).unwrap()
}

#[test]
fn a_pack_carries_pictures_and_they_come_out_to_the_byte() {
    let read = Pack::read(document().to_string().as_bytes()).unwrap();
    let source = read.program().unwrap().source;
    assert_eq!(source.picture("b2.png").unwrap().bytes(), png(40, 30));
}

/// Asserts that a pack with these pictures is refused with this in the error, signed by whoever made it.
#[track_caller]
fn check_refused(pictures: Value, wanted: &str) {
    let mut tampered = document();
    tampered["pictures"] = pictures;
    let unsigned = Pack::read(tampered.to_string().as_bytes()).unwrap_err().to_string();
    let signed = sign(tampered, &signer("North Bench", 1));
    let error = Pack::read(signed.to_string().as_bytes()).and_then(|pack| pack.program().map(|_| ()));
    let error = error.unwrap_err().to_string();
    assert!(error.contains(wanted), "{error}");
    assert!(unsigned.contains("the signature does not fit") || unsigned == error, "{unsigned}");
}

fn packed(name: &str, bytes: &[u8]) -> Value {
    let base64 = data_encoding::BASE64.encode(bytes);
    json!({ "name": name, "sha256": sha256(bytes), "base64": base64 })
}

#[test]
fn a_picture_that_is_none_or_is_another_or_that_nothing_shows_is_refused() {
    let own = packed("b2.png", &png(40, 30));
    let mut exchanged = own.clone();
    exchanged["base64"] = packed("b2.png", &png(41, 30))["base64"].clone();
    check_refused(json!([exchanged]), "b2.png is not the file of its digest");
    let mut garbled = own.clone();
    garbled["base64"] = json!("no Base64!");
    check_refused(json!([garbled]), "b2.png is not the file of its digest");
    check_refused(
        json!([packed("b2.png", &png(40, 30)[..100])]),
        "the picture b2.png can't be taken: it is broken",
    );
    check_refused(json!([packed("b2.png", b"MZ, a program")]), "it is neither PNG nor JPEG");
    check_refused(json!([own, packed("more.jpg", &jpeg(8, 8))]), "the procedure does not show it");
    check_refused(json!([packed("../b2.png", &png(40, 30))]), "not built like a pack");
    check_refused(json!([own, own]), "are one file on some systems");
    check_refused(json!([packed("b2.png", &png(8, 8))]), "port 2 lies outside of its picture");
    check_refused(json!([]), "not built like a pack");
}

#[test]
fn a_new_version_tells_another_picture_and_other_places_of_ports() {
    let told = |before: &Program, after: &Program| {
        let changes = difference(before.outline().unwrap(), after.outline().unwrap());
        changes.into_iter().map(|change| change.text).collect::<Vec<_>>()
    };
    let old = program("1.0.0", "[9, 9]", png(40, 30));
    assert!(told(&old, &program("1.1.0", "[9, 9]", png(40, 30))).is_empty());
    assert_eq!(
        told(&old, &program("1.1.0", "[9, 8]", png(41, 30))),
        [
            "picture changed: b2.png with 2 at 9 9, now b2.png with 2 at 9 8",
            "picture changed: b2.png shows something else"
        ]
    );
}

#[test]
fn a_picture_goes_from_shop_to_shop_and_is_shown_before_it_is_taken() {
    let north = Home::with("brook-b2.rhai", pictured("1.0.0", "[9, 9]"));
    north.write("b2.png", png(40, 30));
    north.done(&["share", "brook-b2.rhai", "--as", "North Bench"]);
    let south = Home::with("b.pack.json", north.read("brook-b2-1.0.0.pack.json"));
    let shown = south.done(&["receive", "b.pack.json", "--check"]);
    assert!(shown.contains("picture b2.png, 40 x 30 pixels, 1 KiB"), "{shown}");
    south.done(&["worksheet", "b.pack.json", "--html", "sheet.html"]);
    assert!(south.read("sheet.html").contains("data:image/png;base64,"));
    south.done(&["receive", "b.pack.json", "--trust", &north.fingerprint(), "--yes"]);
    let installed = south.shop().join("procedures/brook-b2/1.0.0/b2.png");
    assert_eq!(std::fs::read(&installed).unwrap(), png(40, 30));
    assert!(south.done(&["proofread", "brook-b2"]).contains("no errors"));
    // What was altered beside its pack is used no longer.
    std::fs::write(&installed, png(40, 31)).unwrap();
    south.refuses(1, &["proofread", "brook-b2"], "has been altered since it was signed");
}

#[test]
fn a_record_takes_the_pictures_of_its_procedure_along_to_another_shop() {
    let north = Home::with("b2.rhai", pictured("1.0.0", "[9, 9]"));
    north.write("b2.png", png(40, 30));
    north.write("answers.txt", "Mo\n29.92 inHg\n20 C\nok\n25\n5\n22\n25\n5\n");
    north.done(&["guide", "b2.rhai", "--answers", &north.path("answers.txt").display().to_string()]);
    let kept = format!("pictures/{}.png", sha256(&png(40, 30)));
    assert_eq!(std::fs::read(north.shop().join(&kept)).unwrap(), png(40, 30));
    let south = Home::new();
    south.done(&["records", "import", &north.shop().display().to_string()]);
    assert_eq!(std::fs::read(south.shop().join(&kept)).unwrap(), png(40, 30));
    south.done(&["report", "--html", "page.html"]);
    assert!(south.read("page.html").contains("data:image/png;base64,"));
    // One that was altered is not shown.
    std::fs::write(south.shop().join(&kept), png(41, 30)).unwrap();
    south.done(&["report", "--html", "page.html"]);
    assert!(south.read("page.html").contains("b2.png is not kept in this shop"));
}
