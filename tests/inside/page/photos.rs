//! Photos that a browser sends: each comes with its line, decoded, in the time that its network takes.

use std::io::Write;
use std::time::{Duration, Instant};

use super::browser::Shown;
use crate::page::OfTerminal;
use crate::picture::Picture;
use crate::tests::support::{Reply, jpeg};

#[test]
fn a_photo_comes_with_the_line_that_names_it_whatever_its_name_is() {
    let shown = Shown::open();
    let kept = Picture::of_photo(jpeg(64, 48)).unwrap();
    for (address, line) in [
        ("IMG%201.jpg/worn%20at%20the%20end", "photo \"IMG 1.jpg\" worn at the end"),
        ("a%22b%5C%0A.jpg/", "photo \"ab.jpg\""),
        ("..%2Fetc%2Fpasswd/a/b", "photo \"../etc/passwd\" a/b"),
    ] {
        let question = shown.ask("Reading");
        assert_eq!(shown.own("POST", &format!("/photo/{question}/{address}"), jpeg(64, 48)).status, 202);
        assert_eq!(shown.board.take().as_deref(), Some(line));
        assert_eq!(shown.board.take_photo(), Ok(Some(kept.clone())));
    }
    // A line that was typed brings none, and what came before is over.
    let question = shown.ask("Reading");
    assert_eq!(shown.line(question, "photo /etc/passwd").status, 202);
    shown.board.take();
    assert_eq!(shown.board.take_photo(), Ok(None));
    shown.board.settled();
    assert_eq!(shown.board.take_photo(), Err(OfTerminal));
    let question = shown.ask("Reading");
    for wrong in ["/photo/", "/photo/x/a.jpg/", &format!("/photo/{question}/a.jpg"), "/photo/1/%ff/"] {
        assert_eq!(shown.own("POST", wrong, jpeg(64, 48)).status, 404, "{wrong}");
    }
    let of = |question, rest: &str| format!("/photo/{question}/a.jpg/{rest}");
    assert_eq!(shown.own("POST", &of(question - 1, ""), jpeg(64, 48)).status, 409);
    assert_eq!(shown.own("POST", &of(question, "x%0Ay"), jpeg(64, 48)).status, 400);
}

#[test]
fn what_is_no_photo_is_refused_where_it_was_sent_and_the_session_hears_nothing_of_it() {
    let shown = Shown::open();
    let question = shown.ask("Reading");
    let film = shown.own("POST", &format!("/photo/{question}/film.mov/x"), "film");
    assert_eq!(
        (film.status, film.body.as_str()),
        (422, "film.mov: it is neither PNG nor JPEG. Have the camera write JPEG.")
    );
    let whole = jpeg(64, 48);
    let cut = shown.own("POST", &format!("/photo/{question}/cut.jpg/x"), &whole[..whole.len() - 9]);
    assert_eq!((cut.status, cut.body.as_str()), (422, "cut.jpg: it is broken: its end is missing."));
    assert!(!shown.board.has_line());
    assert_eq!(shown.line(question, "22").status, 202);
}

#[test]
fn while_a_photo_is_decoded_the_session_goes_on_and_it_comes_too_late() {
    let shown = Shown::open();
    let question = shown.ask("Reading");
    let file = jpeg(4000, 3000);
    let mut sending = shown.begins_photo(&format!("/photo/{question}/large.jpg/"), file.len());
    sending.write_all(&file).unwrap();
    assert_eq!(shown.line(question, "22").status, 202);
    assert_eq!(shown.board.take().as_deref(), Some("22"));
    assert_eq!(Reply::of(sending).status, 409);
}

#[test]
fn a_photo_may_take_as_long_as_it_comes_on_and_one_that_does_not_is_given_up() {
    let shown = Shown::open();
    let question = shown.ask("Reading");
    let path = format!("/photo/{question}/a.jpg/");
    // As some telephones do, with something behind the picture.
    let file = [jpeg(64, 48), vec![0; 360 << 10]].concat();
    let dead = shown.begins_photo(&path, file.len());
    (&dead).write_all(&file[..20_000]).unwrap();
    let trickling = shown.begins_photo(&path, file.len());
    let mut living = shown.begins_photo(&path, file.len());
    let begun = Instant::now();
    for (n, piece) in file.chunks(file.len() / 60).enumerate() {
        living.write_all(piece).unwrap();
        // Whoever was given up reads no more.
        let _ = (&trickling).write_all(&file[n..=n]);
        std::thread::sleep(Duration::from_millis(200));
    }
    assert!(begun.elapsed() > Duration::from_secs(11));
    assert_eq!(Reply::of(living).status, 202);
    assert!(shown.board.has_line());
    for gone in [dead, trickling] {
        let reply = Reply::of(gone);
        assert!(reply.body.starts_with("The photo came too slowly") || reply.status == 0, "{reply:?}");
    }
    assert!(begun.elapsed() < Duration::from_secs(25), "{:?}", begun.elapsed());
}
