use serde_json::json;

use super::browser::Shown;
use crate::page::{DialSight, State};
use crate::picture::{DRAWING, Picture};
use crate::tests::support::png;

#[test]
fn a_browser_hears_what_is_shown_and_every_change_of_it() {
    let shown = Shown::open();
    let first = shown.ask("Seat the plate.");
    let mut one = shown.listen();
    let mut two = shown.listen();
    for tab in [&mut one, &mut two] {
        let sight = tab.until(|sight| sight["question"] == first);
        assert_eq!(sight["ask"]["words"], "Seat the plate.");
    }
    shown.board.show(|sight| sight.progress.tested = 3);
    for tab in [&mut one, &mut two] {
        tab.until(|sight| sight["progress"]["tested"] == 3);
    }
}

#[test]
fn a_needle_that_moves_is_all_that_is_sent_of_it() {
    let shown = Shown::open();
    shown.board.show(|sight| {
        sight.dial = Some(DialSight { unit: "inHg".to_owned(), needle: Some(1.0), ..DialSight::default() })
    });
    let mut tab = shown.listen();
    tab.until(|sight| sight["dial"]["needle"] == 1.0);
    let put = |to: f64| {
        shown.board.show(|sight| {
            if let Some(dial) = &mut sight.dial {
                (dial.needle, dial.is_moving) = (Some(to), to < 18.0);
            }
        });
    };
    put(17.5);
    assert_eq!(tab.next().unwrap(), json!({ "needle": { "at": 17.5, "is_moving": true } }));
    put(18.5);
    assert_eq!(tab.next().unwrap(), json!({ "needle": { "at": 18.5, "is_moving": false } }));
    // Whoever comes now sees it where it is.
    shown.listen().until(|sight| sight["dial"]["needle"] == 18.5);
    shown.board.show(|sight| sight.heading.session = "m2".to_owned());
    let heard = tab.next().unwrap();
    assert_eq!(
        (&heard["sight"]["heading"]["session"], &heard["sight"]["dial"]["needle"]),
        (&json!("m2"), &json!(18.5))
    );
}

#[test]
fn a_line_counts_once_and_for_what_it_was_typed_for() {
    let shown = Shown::open();
    assert_eq!(shown.line(0, "ok").status, 409);
    let first = shown.ask("Seat the plate.");
    assert_eq!(shown.line(first, " 18 1/2 inHg ").status, 202);
    // A second tap, and another tab.
    assert_eq!(shown.line(first, "ok").status, 409);
    assert_eq!(shown.board.take().as_deref(), Some(" 18 1/2 inHg "));
    assert_eq!(shown.line(first, "ok").status, 409);
    shown.board.settled();
    let second = shown.ask("Read the gauge.");
    let late = shown.line(first, "ok");
    assert_eq!(late.status, 409);
    let now: serde_json::Value = serde_json::from_str(&late.body).unwrap();
    assert_eq!(now["sight"]["question"], second);
    assert_eq!(now["sight"]["ask"]["words"], "Read the gauge.");
    assert!(!shown.board.has_line());
}

#[test]
fn a_picture_is_sent_to_whoever_was_let_in() {
    let shown = Shown::open();
    let file = png(4, 3);
    shown.board.hold_picture("a b.png", &Picture::of(file.clone(), DRAWING).unwrap());
    let reply = shown.own("GET", "/picture/a%20b.png", "");
    assert_eq!((reply.status, reply.body.as_str()), (200, &*String::from_utf8_lossy(&file)));
    assert!(reply.head.contains("content-type: image/png"));
    assert_eq!(shown.own("GET", "/picture/other.png", "").status, 404);
}

#[test]
fn whoever_listens_gets_the_end_before_the_page_is_gone() {
    let shown = Shown::open();
    shown.ask("Seat the plate.");
    let mut tabs: Vec<_> = (0..5).map(|_| shown.listen()).collect();
    for tab in &mut tabs {
        tab.next().unwrap();
    }
    shown.board.show(|sight| sight.state = State::Ended);
    let host = shown.host.clone();
    shown.server.close();
    for tab in &mut tabs {
        let mut last = None;
        while let Some(heard) = tab.next() {
            last = Some(heard);
        }
        assert_eq!(last.unwrap()["sight"]["state"], "ended");
    }
    assert!(std::net::TcpStream::connect(host).is_err());
}
