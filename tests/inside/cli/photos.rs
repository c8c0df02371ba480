//! Photos in a session: taken at the prompt, kept in the shop by their digest, shown in reports, and
//! looked for by an audit.

use std::fs;
use std::path::{Path, PathBuf};

use serde_json::Value;

use crate::picture::{DRAWING, Picture};
use crate::record::sha256;
use crate::tests::support::{FEED_LINES, Home, home, jpeg, lines, png};

/// What is typed at a feed that leaks, with these lines before its reading.
fn leaking(before: &[&str]) -> String {
    let ended = [&FEED_LINES[..6], before, &["9", "9"], &FEED_LINES[7..], &["1"]].concat();
    lines(&ended)
}

/// A home in which a feed that leaks was photographed once.
fn photographed() -> Home {
    let home = home();
    home.write("worn bore.jpg", jpeg(64, 48));
    let typed = leaking(&["photo worn bore.jpg scored at the spring end"]);
    home.run(&["guide", "merle.rhai"], &typed).exits(0).says("Photo of feed kept: 64 x 48 pixels");
    home
}

fn pictures(home: &Home) -> PathBuf {
    home.shop().join("pictures")
}

/// The one picture that a shop keeps.
fn only_picture(home: &Home) -> PathBuf {
    let names = home.names(&pictures(home));
    assert_eq!(names.len(), 1, "{names:?}");
    pictures(home).join(&names[0])
}

#[test]
fn a_photo_is_kept_by_its_digest_and_stands_in_the_record_with_its_circuit_and_its_words() {
    let home = photographed();
    let record = home.record();
    let photos: Vec<_> = record.photos().collect();
    let [(_, Some("feed"), photo)] = photos[..] else { panic!("{photos:?}") };
    assert_eq!((photo.width, photo.height), (64, 48));
    assert_eq!(photo.words.as_deref(), Some("scored at the spring end"));
    let kept = fs::read(only_picture(&home)).unwrap();
    assert_eq!(sha256(&kept), photo.sha256);
    assert_eq!(only_picture(&home).file_name().unwrap().to_str().unwrap(), format!("{}.jpg", photo.sha256));
    assert_eq!(Picture::of(kept, DRAWING).unwrap().width, 64);
    home.run(&["records", "audit"], "").exits(0).says("1 of 1 records in order.");
}

#[test]
fn a_file_is_found_as_it_is_typed_or_pasted_and_what_is_none_is_refused_with_what_to_do() {
    let home = home();
    for name in ["a b.png", "it's.png", "plain.png"] {
        home.write(name, png(20, 10));
    }
    home.write("bore.heic", "ftypheic");
    let pasted = home.path("a b.png").to_str().unwrap().replace(' ', "\\ ");
    let typed = leaking(&[
        "photo",
        "photo none.jpg",
        "photo bore.heic",
        "photo plain.png",
        "photo a b.png two words",
        &format!("photo {pasted}"),
        r"photo 'it'\''s.png' it's worn",
        "photo ~/plain.png",
    ]);
    let ran = home.run(&["guide", "merle.rhai"], &typed).exits(0);
    let ran = ran.says("Write its file behind it, or drop the file here: photo bore.jpg");
    let ran = ran.says("There is no file none.jpg. Type its path, or drop it here behind the word photo.");
    ran.says("bore.heic: it is neither PNG nor JPEG. Have the camera write JPEG.");
    let record = home.record();
    let words: Vec<_> = record.photos().map(|(.., photo)| photo.words.as_deref()).collect();
    assert_eq!(words, [None, Some("two words"), None, Some("it's worn"), None]);
    // One and the same picture is there once.
    only_picture(&home);
}

#[test]
fn a_photo_stays_when_its_session_is_parked_and_when_an_answer_is_taken_back() {
    let home = home();
    home.write("bore.png", png(20, 10));
    let before = [&FEED_LINES[..6], &["photo bore.png", "back", "5", "park"]].concat();
    home.run(&["guide", "merle.rhai"], &lines(&before)).exits(3);
    home.run(&["guide", "--resume"], &lines(&FEED_LINES[6..])).exits(0);
    let record = home.record();
    assert_eq!(record.photos().map(|(_, circuit, _)| circuit).collect::<Vec<_>>(), [Some("feed")]);
    home.run(&["records", "audit"], "").exits(0);
    let name = home.latest();
    home.run(&["amend", &name, "--reason", "misread", "--by", "Bo"], "7\nyes\n21\n").exits(0);
    let amended = crate::record::read(&home.records()[1]).unwrap();
    assert_eq!(amended.photos().count(), 1, "what is amended keeps its photos");
    home.run(&["records", "audit"], "").exits(0).says("2 of 2 records in order.");
}

/// Begins a session with the photo of a file in it, and parks it; returns its name.
fn parked_with(home: &Home, file: &str) -> String {
    let open = || home.names(&home.shop().join("open"));
    let before = open();
    let photo = format!("photo {file}");
    let typed = [&FEED_LINES[..6], &[&photo, "park"]].concat();
    home.run(&["guide", "merle.rhai"], &lines(&typed)).exits(3);
    open().into_iter().find(|name| !before.contains(name)).unwrap()
}

#[test]
fn a_session_that_is_discarded_takes_its_photos_along_and_brings_them_back() {
    let home = home();
    home.write("bore.png", png(20, 10));
    let name = parked_with(&home, "bore.png");
    let photo = fs::read(only_picture(&home)).unwrap();
    let said = home.run(&["records", "discard", &name], "").exits(0);
    said.says("Its photos lie there too, and among the shop's pictures no longer (1).");
    assert_eq!(home.names(&pictures(&home)), Vec::<String>::new());
    let discarded = home.shop().join("discarded").join(&name);
    let file = discarded.join(format!("{}.jpg", sha256(&photo)));
    assert_eq!(fs::read(&file).unwrap(), photo);

    fs::rename(&discarded, home.shop().join("open").join(&name)).unwrap();
    home.run(&["guide", "--resume"], &lines(&FEED_LINES[6..])).exits(0);
    assert_eq!(fs::read(only_picture(&home)).unwrap(), photo);
    assert_eq!(home.names(&home.shop().join("open")), Vec::<String>::new(), "nothing of it is left there");
    home.run(&["records", "audit"], "").exits(0).says("1 of 1 records in order.");
}

#[test]
fn a_photo_that_a_record_or_an_open_session_names_stays_where_another_is_discarded() {
    let home = home();
    home.write("bore.png", png(20, 10));
    let first = parked_with(&home, "bore.png");
    parked_with(&home, "bore.png");
    let said = home.run(&["records", "discard", &first], "").exits(0);
    said.says("Its photos lie there too (1); what a record or an open session names stays in").says("(1).");
    only_picture(&home);
    home.run(&["guide", "--resume"], &lines(&FEED_LINES[6..])).exits(0);
    let third = parked_with(&home, "bore.png");
    home.run(&["records", "discard", &third], "").exits(0);
    only_picture(&home);
    home.run(&["records", "audit"], "").exits(0).says("1 of 1 records in order.");
}

#[test]
fn a_photo_that_is_missing_or_altered_is_a_fault_of_the_folder_and_not_of_the_record() {
    let home = photographed();
    let path = only_picture(&home);
    let kept = fs::read(&path).unwrap();
    let name = home.latest();
    fs::write(&path, jpeg(10, 10)).unwrap();
    let said = home.run(&["records", "audit"], "").exits(1);
    said.says("1 of 1 records in order, but the folder has 1 fault: - the photo of event")
        .says("was altered: its content has another digest");
    home.run(&["report"], "").exits(0).says("It cannot be shown").says("was altered");
    fs::remove_file(&path).unwrap();
    home.run(&["records", "audit", &name], "").exits(1).says("the photo of event").says("is missing");
    let told = home.json(&["records", "audit"]);
    assert_eq!(told["records"][0]["in_order"], true);
    assert!(told["faults"][0].as_str().unwrap().contains("is missing"), "{told}");
    home.run(&["report"], "").exits(0).says("It cannot be shown");
    // A copy elsewhere has no folder to hold it to.
    let copy = home.write("copy.json", fs::read(&home.records()[0]).unwrap());
    let said = home.run(&["records", "audit", copy.to_str().unwrap()], "").exits(0);
    said.says("Not looked for: 1 photo of 1 record, since");
    fs::write(&path, kept).unwrap();
    home.run(&["records", "audit"], "").exits(0);
}

#[test]
fn a_report_shows_a_photo_to_the_customer_where_its_circuit_is_in_trouble_and_behind_that_otherwise() {
    let home = photographed();
    home.run(&["report", "--html", "leaks.html"], "").exits(0);
    let page = home.read("leaks.html");
    let jpeg = data_encoding::BASE64.encode(&fs::read(only_picture(&home)).unwrap());
    assert_eq!(page.matches(&jpeg).count(), 1, "it stands in the page once");
    let customer = page.split("The figures behind it").next().unwrap();
    assert!(customer.contains(&jpeg) && customer.contains("scored at the spring end"));
    assert!(page.contains("img-src data:") && page.contains("on the page for the customer"));
    home.run(&["report"], "").exits(0).says("Photo: feed, 20").says("Photos - feed, 20");
    home.run(&["records", "show"], "").exits(0).says("photo feed, 20").says("scored at the spring end");

    let sound = self::home();
    sound.write("bore.png", png(20, 10));
    let typed = [&FEED_LINES[..6], &["photo bore.png"], &FEED_LINES[6..]].concat();
    sound.run(&["guide", "merle.rhai"], &lines(&typed)).exits(0);
    sound.run(&["report", "--html", "sound.html"], "").exits(0);
    let page = sound.read("sound.html");
    let (customer, figures) = page.split_once("The figures behind it").unwrap();
    assert!(!customer.contains("data:image") && figures.contains("data:image/jpeg;base64,"));
}

#[test]
fn an_export_names_the_photos_of_a_circuit_by_their_digests() {
    let home = photographed();
    let digest = home.record().photos().next().unwrap().2.sha256.clone();
    let rows = home.run(&["records", "export", "--format", "jsonl"], "").exits(0).out.clone();
    let row: Value = serde_json::from_str(rows.lines().next().unwrap()).unwrap();
    assert_eq!(row["circuit_photos"], Value::from(digest));
}

#[test]
fn an_import_takes_photos_along_holds_them_to_their_digests_and_says_which_did_not_come() {
    let (school, north) = (Home::new(), photographed());
    let import = |from: &Path| school.run(&["records", "import", from.to_str().unwrap()], "");
    import(&north.shop()).exits(0).says("1 taken");
    assert_eq!(fs::read(only_picture(&school)).unwrap(), fs::read(only_picture(&north)).unwrap());
    school.run(&["records", "audit"], "").exits(0);

    // Gone here, it comes with the same again; altered there, it is refused; gone there too, it is said.
    fs::remove_file(only_picture(&school)).unwrap();
    school.run(&["records", "audit"], "").exits(1);
    import(&north.shop()).exits(0).says("0 taken, 1 here already");
    school.run(&["records", "audit"], "").exits(0);
    fs::remove_file(only_picture(&school)).unwrap();
    fs::write(only_picture(&north), "no picture").unwrap();
    import(&north.shop()).exits(1).complains("refused a photo of");
    fs::remove_file(only_picture(&north)).unwrap();
    import(&north.shop()).exits(0).says("that did not come with them: 1.");
}

#[test]
fn a_photo_that_the_disk_does_not_take_is_said_to_be_lost_and_the_session_goes_on() {
    let home = home();
    home.write("bore.png", png(20, 10));
    fs::create_dir_all(home.shop()).unwrap();
    // A file where the folder of pictures should be.
    fs::write(pictures(&home), "").unwrap();
    let typed = [&FEED_LINES[..6], &["photo bore.png"], &FEED_LINES[6..]].concat();
    home.run(&["guide", "merle.rhai"], &lines(&typed)).exits(0).says("The photo is not kept:");
    assert_eq!(home.record().photos().count(), 0);
}

#[test]
fn where_nothing_real_is_tested_no_photo_is_taken() {
    let home = home();
    home.write("bore.png", png(20, 10));
    let typed = "photo bore.png\npark\n";
    home.run(&["practice", "read-the-needle"], &["Ann\n", typed].concat())
        .anyhow()
        .says("here there is no unit to photograph");
    home.run(&["draft"], typed).anyhow().says("A draft has no session to put a photo into");
    assert_eq!(home.names(&pictures(&home)), Vec::<String>::new());
}

#[test]
fn a_pack_carries_no_photo_of_a_session() {
    let home = photographed();
    home.done(&["share", "merle.rhai", "--as", "North Bench"]);
    let packs: Vec<_> =
        home.names(home.folder()).into_iter().filter(|name| name.ends_with("pack.json")).collect();
    let pack = home.read(&packs[0]);
    let photo = data_encoding::BASE64.encode(&fs::read(only_picture(&home)).unwrap());
    let digest = home.record().photos().next().unwrap().2.sha256.clone();
    assert!(!pack.contains(&digest) && !pack.contains(&photo[..40]));
}
