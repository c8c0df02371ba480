//! Pictures and the places of ports: what a procedure may name, what is told of what can't be shown, and
//! what a record keeps.

use std::rc::Rc;
use std::sync::Arc;

use crate::procedure::{Fault, Outline, PictureHere, Place, Program, Source};
use crate::proofread::proofread;
use crate::record::{Asker, Pixel, Question, Wants, document};
use crate::session::Auditor;
use crate::tests::support::{Script, Shopfront, jpeg, png, slope};

const HEAD: &str = "procedure(#{ title: \"T\", version: \"1.0.0\", picture: \"body.png\", ports: #{ \"3A\": [12, 7] } });\n\
    let c = circuit(#{ name: \"c\", port: \"3A\", holds: 20.inHg, leaks: 15.inHg });\n";

fn source(text: &str, pictures: &[(&str, Vec<u8>)]) -> Source {
    let text = ("test.rhai".to_owned(), text.as_bytes().to_vec());
    let pictures = pictures.iter().map(|(name, bytes)| ((*name).to_owned(), bytes.clone()));
    Source::from_files("test", [text].into_iter().chain(pictures)).unwrap()
}

fn compiled(text: &str) -> Program {
    Program::compile(source(text, &[("body.png", png(40, 30)), ("step.jpg", jpeg(16, 16))])).unwrap()
}

/// Checks that a script is refused at its mark with this message, which stands beside a picture of 40 x 30 pixels.
#[track_caller]
fn check_refused(text: &str, wanted: &str) {
    let script = Script::whole(text);
    let pictures = [
        ("body.png", png(40, 30)),
        ("cut.png", png(40, 30)[..100].to_vec()),
        ("other.jpg", b"GIF89a, whatever its name".to_vec()),
        ("wide.png", png(4097, 1)),
    ];
    let found = Program::compile(source(&script.files[0].1, &pictures)).expect_err("an error");
    let place = |fault: &Fault| Some((fault.file.clone(), fault.line?, fault.column?));
    let fits = |fault: &Fault| fault.message.contains(wanted) && place(fault) == script.mark;
    assert!(found.iter().any(fits), "no {wanted:?} at {:?} in {found:#?}", script.mark);
}

fn procedure(keys: &str) -> String {
    format!("procedure(#{{ title: \"T\", version: \"1.0.0\", {keys} }});\n")
}

#[test]
fn what_is_no_picture_is_told_at_the_place_of_its_name() {
    for (name, wanted) in [
        ("cut.png", "cut.png can't be shown: it is broken"),
        ("other.jpg", "other.jpg can't be shown: it is neither PNG nor JPEG"),
        ("wide.png", "wide.png can't be shown: it is 4097 x 1 pixels, 4097 in all; 4096 on a side"),
        ("boddy.png", "there is no picture \"boddy.png\" in the procedure's folder"),
        ("../body.png", "\"../body.png\" is no picture of the procedure's own folder"),
        ("body.gif", "\"body.gif\" is no picture of the procedure's own folder"),
    ] {
        check_refused(&procedure(&format!("picture: ▸\"{name}\"")), wanted);
        let step = format!("{}ready(\"Fit it.\", ▸\"{name}\");", procedure(""));
        check_refused(&step, wanted);
    }
}

#[test]
fn a_picture_of_a_circuit_a_reading_or_a_step_in_a_test_is_looked_at_too() {
    let test = |steps: &str| {
        format!(
            "{}let c = circuit(#{{ name: \"c\", holds: 20.inHg, leaks: 15.inHg }});\ntest(c, |t| {{ {steps} }});",
            procedure("")
        )
    };
    check_refused(&test("t.ready(\"Fit it.\", ▸\"no.png\"); t.read();"), "there is no picture \"no.png\"");
    check_refused(&test("t.read(\"a\", #{ picture: ▸\"no.png\" });"), "there is no picture \"no.png\"");
    let circuit = "test(circuit(#{ name: \"c\", holds: 20.inHg, leaks: 15.inHg, picture: ▸\"no.png\" }));";
    check_refused(&format!("{}{circuit}", procedure("")), "there is no picture \"no.png\"");
}

#[test]
fn the_name_of_a_picture_stands_in_quotes_where_it_is_shown() {
    let computed = "the name of a picture is computed here";
    check_refused(&format!("{}let p = \"body.png\";\nready(\"Fit it.\", ▸p);", procedure("")), computed);
    check_refused(&procedure("picture: ▸\"bo\" + \"dy.png\""), computed);
}

#[test]
fn no_port_lies_outside_of_its_picture() {
    let at = |place: &str| procedure(&format!("picture: \"body.png\", ports: #{{ \"3A\": ▸{place} }}"));
    check_refused(&at("[40, 29]"), "port 3A lies outside of its picture, which is 40 x 30 pixels");
    check_refused(&at("[39, 30]"), "port 3A lies outside");
    for place in ["[1]", "[1, 2, 3]", "[1.5, 2]", "[-1, 2]", "\"1 2\"", "12", "[\"1\", \"2\"]"] {
        check_refused(&at(place), "where port 3A lies is not two whole numbers");
    }
    assert!(Program::compile(source(&at("[39, 29]").replace('▸', ""), &[("body.png", png(40, 30))])).is_ok());
    check_refused(&procedure("▸ports: #{ \"3A\": [1, 2] }"), "ports lie on a picture, and none is named");
    check_refused(&procedure("▸pictures: \"body.png\""), "procedure knows no key \"pictures\"");
}

#[test]
fn pictures_are_read_from_the_procedures_folder_and_never_followed_out_of_it() {
    let outside = tempfile::tempdir().unwrap();
    std::fs::write(outside.path().join("body.png"), png(40, 30)).unwrap();
    let folder = outside.path().join("procedures");
    std::fs::create_dir(&folder).unwrap();
    let file = folder.join("test.rhai");
    std::fs::write(&file, format!("{HEAD}test(c);")).unwrap();
    let names =
        |source: &Source| source.pictures.iter().map(|picture| picture.name.clone()).collect::<Vec<_>>();
    assert!(names(&Source::from_path(&file).unwrap()).is_empty());
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink("../body.png", folder.join("body.png")).unwrap();
        assert!(names(&Source::from_path(&file).unwrap()).is_empty());
        std::fs::remove_file(folder.join("body.png")).unwrap();
    }
    std::fs::copy(outside.path().join("body.png"), folder.join("body.png")).unwrap();
    std::fs::write(folder.join("unnamed.png"), png(8, 8)).unwrap();
    let source = Source::from_path(&file).unwrap();
    assert_eq!(names(&source), ["body.png"]);
    assert!(Program::compile(source).is_ok());
    // One byte more than a picture may have.
    let mut heavy = png(40, 30);
    heavy.resize((1 << 20) + 1, 0);
    std::fs::write(folder.join("body.png"), heavy).unwrap();
    let faults = Program::compile(Source::from_path(&file).unwrap()).unwrap_err();
    assert_eq!(faults[0].message, "body.png can't be shown: it is larger than 1024 KiB");
    assert_eq!((faults[0].line, faults[0].help.as_deref()), (Some(1), Some("save it smaller")));
}

#[test]
fn a_procedure_names_no_more_pictures_than_can_be_handed_on() {
    let names: Vec<String> = (0..25).map(|n| format!("p{n}.png")).collect();
    let steps: String = names.iter().map(|name| format!("ready(\"Fit it.\", \"{name}\");\n")).collect();
    let files = |n: usize| {
        let text = ("test.rhai".to_owned(), format!("{}{steps}", procedure("")).into_bytes());
        let pictures = names.iter().take(n).map(|name| (name.clone(), png(4, 4)));
        Source::from_files("test", [text].into_iter().chain(pictures))
    };
    assert!(files(24).is_ok());
    assert!(files(25).unwrap_err().message.contains("names more than 24 pictures"));
}

/// The pictures that stand beside a question in a circuit's test, each with the port that is ringed on it.
fn beside(outline: &Outline, step: Option<&str>) -> Vec<(String, Option<String>)> {
    let place = Place {
        circuit: outline.circuits.first().cloned().map(Arc::new),
        map: outline.title.map.clone().map(Rc::new),
        picture: step.map(str::to_owned),
        ..Place::default()
    };
    let (asker, circuit, words) = (Asker::Procedure, Some("c".to_owned()), "Fit it.".to_owned());
    let question = Question { asker, circuit, words, occurrence: 1, wants: Wants::Ready };
    let told = |here: &PictureHere<'_>| (here.name.to_owned(), here.port.clone());
    place.pictures(&question).iter().map(told).collect()
}

#[test]
fn a_question_has_the_picture_of_its_step_of_its_circuit_and_the_units_where_its_port_is_on_that() {
    let port = Some("3A".to_owned());
    let program = compiled(&format!("{HEAD}test(c);"));
    let outline = program.outline().unwrap();
    assert_eq!(outline.title.map.as_ref().unwrap().ports["3A"], Pixel { x: 12, y: 7 });
    assert_eq!(beside(outline, None), [("body.png".to_owned(), port.clone())]);
    assert_eq!(
        beside(outline, Some("step.jpg")),
        [("step.jpg".to_owned(), None), ("body.png".to_owned(), port)]
    );
    let own = HEAD.replace("port: \"3A\"", "port: \"9\", picture: \"step.jpg\", ports: #{ \"9\": [3, 4] }");
    let program = compiled(&format!("{own}test(c);"));
    assert_eq!(beside(program.outline().unwrap(), None), [("step.jpg".to_owned(), Some("9".to_owned()))]);
}

#[test]
fn proofreading_names_ports_that_are_on_no_picture_and_places_where_nothing_is_read() {
    let remarks = |text: &str| {
        let report = proofread(source(text, &[("body.png", png(40, 30))]));
        report.faults.iter().map(|found| found.fault.message.clone()).collect::<Vec<_>>()
    };
    let caution = "caution(\"Mind the hose.\");\n";
    assert!(remarks(&format!("{HEAD}{caution}test(c);")).is_empty());
    let other = HEAD.replace("port: \"3A\"", "port: \"3B\"");
    let found = remarks(&format!("{other}{caution}test(c);"));
    assert_eq!(
        found,
        [
            "nothing is read on port 3A of the picture, and no step names it",
            "port 3B of \"c\" is on no picture"
        ]
    );
    // A port of one reading alone is one too.
    let apart = format!("{HEAD}{caution}test(c, |t| {{ t.read(); t.read(\"b\", #{{ port: \"5\" }}); }});");
    assert_eq!(remarks(&apart), ["port 5 of \"c: b\" is on no picture"]);
    // Of a picture without any places there is one remark; where no port is named, none.
    let bare = HEAD.replace(", ports: #{ \"3A\": [12, 7] }", "");
    let found = remarks(&format!("{bare}{caution}test(c);"));
    assert_eq!(found, ["no port that is read has its place on body.png"]);
    let portless = bare.replace("port: \"3A\", ", "");
    assert!(remarks(&format!("{portless}{caution}test(c);")).is_empty());
}

#[test]
fn a_place_of_nothing_is_pointed_at_and_only_such_a_one_is_proposed_for_a_port() {
    let head = "procedure(#{ title: \"T\", version: \"1.0.0\", picture: \"body.png\",\n    ports: #{ \"D\": [1, 2],\n\
        \"Q9\": [3, 4] } });\ncaution(\"Mind the hose.\");\n";
    let of = |name: &str| {
        format!(
            "test(circuit(#{{ name: \"feed {name}\", port: \"{name}\", holds: 20.inHg, leaks: 15.inHg }}));\n"
        )
    };
    let found = |ports: [&str; 2]| {
        let text = format!("{head}{}{}", of(ports[0]), of(ports[1]));
        let report = proofread(source(&text, &[("body.png", png(40, 30))]));
        report.faults.into_iter().map(|found| found.fault).collect::<Vec<_>>()
    };
    let faults = found(["D", "C"]);
    let nothing = faults.iter().find(|fault| fault.message.starts_with("nothing is read on port Q9"));
    assert_eq!(nothing.unwrap().line, Some(3));
    let help = |faults: &[Fault]| {
        let unplaced = faults.iter().find(|fault| fault.message.contains("is on no picture"));
        unplaced.unwrap().help.clone().unwrap()
    };
    assert!(!help(&faults).contains("did you mean"), "D is where a circuit is read");
    assert!(help(&found(["D", "Q8"])).contains("did you mean \"Q9\""));
}

#[test]
fn what_a_camera_noted_in_a_picture_is_remarked_on() {
    let mut bytes = Vec::new();
    let mut encoder = jpeg_encoder::Encoder::new(&mut bytes, 90);
    encoder.add_app_segment(1, b"Exif\0\0II*\0\x08\0\0\0\0\0".to_vec()).unwrap();
    encoder.encode(&slope(40, 30), 40, 30, jpeg_encoder::ColorType::Rgb).unwrap();
    let text = format!("{HEAD}caution(\"Mind the hose.\");\ntest(c);").replace("body.png", "body.jpg");
    let report = proofread(source(&text, &[("body.jpg", bytes)]));
    let found: Vec<_> = report.faults.iter().map(|found| (&*found.fault.message, found.fault.line)).collect();
    assert!(
        matches!(found[..], [(told, Some(1))] if told.starts_with("body.jpg holds what its camera noted")),
        "{found:?}"
    );
}

#[test]
fn a_record_keeps_the_digests_of_pictures_and_is_audited_without_them() {
    let shop = Shopfront::of(compiled(&format!("{HEAD}ready(\"Fit it.\", \"step.jpg\");\ntest(c);")));
    let record = shop.finish(&["done", "22"]);
    let names: Vec<_> = record.procedure.pictures.iter().map(|picture| picture.name.as_str()).collect();
    assert_eq!(names, ["body.png", "step.jpg"]);
    let pictures = &record.procedure.pictures;
    assert_eq!((pictures[0].width, pictures[0].height), (40, 30));
    assert_eq!(pictures[0].sha256, crate::record::sha256(&png(40, 30)));
    assert_eq!(record.procedure.map.as_ref().unwrap().ports["3A"], Pixel { x: 12, y: 7 });
    let text = document(&record).unwrap();
    assert!(Auditor::default().audit(text.as_bytes()).is_in_order());
    // Another record of the same texts, with another picture, is in order too where the auditor has
    // just seen the first.
    let other = text.replace(&pictures[0].sha256, &crate::record::sha256(b"another"));
    let audit = Auditor::default().audit(other.as_bytes());
    assert_eq!(audit.faults.iter().map(|fault| fault.kind()).collect::<Vec<_>>(), ["digest"]);
    // One that no text names is none of the procedure's.
    let audit = Auditor::default()
        .audit(text.replace("\"step.jpg\",\"sha256\"", "\"more.jpg\",\"sha256\"").as_bytes());
    assert!(audit.faults.iter().any(|fault| fault.to_string().contains("no text of the procedure shows it")));
}
