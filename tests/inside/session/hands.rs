//! Terminal and page, two hands on one prompt: what one answers the other shows, and an answer counts once.

use std::sync::Arc;
use std::sync::atomic::{AtomicU32, AtomicUsize, Ordering};
use std::thread;
use std::time::Duration;

use crate::page::{Ask, Board, NotTaken, PageLine, SaidKind, Sight, State};
use crate::picture::Picture;
use crate::quantity::UNITS;
use crate::rig::Dial;
use crate::session::{Ended, Person};
use crate::tests::support::{BODY, BODY_LINES, Shopfront, essence, jpeg, png};

/// Longer than anything here takes; whoever waits for it in vain fails.
const LONG: Duration = Duration::from_secs(60);

fn line(question: u64, text: &str) -> PageLine {
    PageLine { question, text: text.to_owned(), photo: None }
}

/// Waits until the page shows what is wanted.
#[track_caller]
pub(super) fn seen(board: &Board, is_wanted: impl Fn(&Sight) -> bool) -> Sight {
    let mut change = board.now();
    while !is_wanted(&change.sight) {
        change =
            board.changed(change.version, LONG).unwrap_or_else(|| panic!("not shown: {:?}", change.sight));
    }
    change.sight
}

/// Types a line on a page when something is asked, until it is dealt with.
fn types(board: &Board, text: &str) {
    sends(board, text, None);
}

/// Sends a line, and a photo where one goes with it.
fn sends(board: &Board, text: &str, photo: Option<Picture>) {
    loop {
        let sight = seen(board, |sight| sight.question > 0 || sight.state != State::Going);
        if sight.state != State::Going
            || board.hand_in(PageLine { photo: photo.clone(), ..line(sight.question, text) }).is_ok()
        {
            break;
        }
    }
    seen(board, |_| !board.has_line());
}

/// Somebody at a page. When they are surprised and leave, they park the session, so that it ends.
pub(super) struct Browser<'a>(pub(super) &'a Board);

impl Browser<'_> {
    pub(super) fn types(&self, lines: &[&str]) {
        lines.iter().for_each(|text| types(self.0, text));
    }
}

impl Drop for Browser<'_> {
    fn drop(&mut self) {
        if thread::panicking() {
            types(self.0, "park");
        }
    }
}

#[test]
fn a_line_counts_once_and_on_what_it_was_typed_for() {
    let board = Board::default();
    assert_eq!(board.hand_in(line(0, "ok")), Err(NotTaken::Stale), "nothing is asked");
    board.pose(|sight| sight.ask = Some(Ask { words: "First?".to_owned(), ..Ask::default() }));
    let first = board.now().sight.question;
    assert_eq!(board.hand_in(line(first, "one")), Ok(()));
    assert_eq!(board.hand_in(line(first, "one")), Err(NotTaken::Stale), "a key that is touched twice");
    assert_eq!((board.take(), board.take()), (Some("one".to_owned()), None));
    assert_eq!(board.hand_in(line(first, "one")), Err(NotTaken::Stale), "it is answered");
    board.pose(|sight| sight.ask = Some(Ask { words: "Second?".to_owned(), ..Ask::default() }));
    assert_eq!(board.hand_in(line(first, "one")), Err(NotTaken::Stale), "another page still shows the first");
    let second = board.now().sight.question;
    assert_eq!(board.hand_in(line(second, "two\nthree")), Err(NotTaken::NoLine));
    assert_eq!(board.hand_in(line(second, &"2".repeat(1 << 14))), Err(NotTaken::NoLine));
    // The terminal was faster: what came too late is given back, and counts for nothing.
    assert_eq!(board.hand_in(line(second, "two")), Ok(()));
    assert_eq!(board.settled().as_deref(), Some("two"));
    board.ask();
    assert_eq!((board.take(), board.now().sight.question > second), (None, true));
}

#[test]
fn of_many_pages_that_answer_at_once_one_is_heard_each_time() {
    const TIMES: usize = 500;
    let (board, taken) = (Board::default(), AtomicUsize::new(0));
    thread::scope(|scope| {
        for _ in 0..4 {
            scope.spawn(|| {
                let mut version = 0;
                while let Some(change) = board.changed(version, LONG) {
                    version = change.version;
                    if change.sight.state == State::Ended {
                        break;
                    }
                    let text = change.sight.question.to_string();
                    taken.fetch_add(
                        usize::from(board.hand_in(line(change.sight.question, &text)).is_ok()),
                        Ordering::Relaxed,
                    );
                }
            });
        }
        for _ in 0..TIMES {
            board.pose(|_| {});
            let asked = board.now().sight.question;
            while !board.has_line() {
                board.wait(LONG);
            }
            assert_eq!(board.take(), Some(asked.to_string()));
        }
        board.close(State::Ended);
    });
    assert_eq!(taken.into_inner(), TIMES);
}

#[test]
fn who_reads_at_the_terminal_is_called_back_once_whenever_the_line_comes() {
    static CALLS: AtomicU32 = AtomicU32::new(0);
    let called = || CALLS.swap(0, Ordering::Relaxed);
    let call = || _ = CALLS.fetch_add(1, Ordering::Relaxed);
    let board = Board::default();
    board.ask();
    board.reading(call);
    board.hand_in(line(1, "while it reads")).unwrap();
    board.notice("a notice beside it".to_owned());
    assert_eq!(called(), 1);
    assert!(board.take().is_some() && !board.take_notices().is_empty());
    board.ask();
    board.hand_in(line(2, "before it reads")).unwrap();
    board.reading(call);
    assert_eq!(called(), 1);
    board.take();
    board.ask();
    board.reading(call);
    board.not_reading();
    board.hand_in(line(3, "after it has read")).unwrap();
    assert_eq!(called(), 0);
}

#[test]
fn of_what_was_said_the_page_shows_the_last() {
    let board = Arc::new(Board::default());
    for n in 0..1000 {
        board.say(SaidKind::Told, &n.to_string());
    }
    let said = board.now().sight.said;
    assert_eq!((said.len(), said[0].text.as_str(), said[399].text.as_str()), (400, "600", "999"));
}

/// Walks a session of the usual body, in which a file and the page answer.
fn with_page(front: &Shopfront, of_file: &[&str], on_page: &[&str]) -> (Ended, Arc<Board>) {
    let board = Arc::<Board>::default();
    let ended = thread::scope(|scope| {
        let page = Arc::clone(&board);
        scope.spawn(move || {
            let is_typed = |sight: &Sight| {
                let n = sight.said.iter().filter(|said| said.kind == SaidKind::AtTerminal).count();
                n == of_file.len() || sight.state != State::Going
            };
            let browser = Browser(&page);
            seen(&page, is_typed);
            browser.types(on_page);
            browser.types(&["park"]);
        });
        let prompt = front.prompt(of_file).with_page(Arc::clone(&board)).unwrap();
        let person = Person::new(prompt, &UNITS[0]).looking_at(Dial::USUAL);
        let ended = front.walk_with(Box::new(person)).unwrap();
        board.close(State::Ended);
        ended
    });
    (ended, board)
}

pub(super) const RUNNER: [&str; 5] = ["Ada", "29.92 inHg", "20 C", "25", "5"];

#[test]
fn a_session_that_the_page_answers_leaves_the_record_that_a_terminal_does() {
    let front = Shopfront::new(BODY);
    let closing = ["25", "5"];
    let all: Vec<&str> = [&RUNNER[..3], &BODY_LINES[..3], &RUNNER[3..], &BODY_LINES[3..], &closing].concat();
    let typed = front.finish_bare(&all);
    for n_of_file in [0, 4, all.len()] {
        front.begin_anew();
        let (ended, _) = with_page(&front, &all[..n_of_file], &all[n_of_file..]);
        let Ended::Finished(record, _) = ended else { panic!("{ended:?} {}", front.shown()) };
        assert_eq!(essence(&record), essence(&typed), "{n_of_file} of a file");
    }
}

#[test]
fn what_the_page_is_refused_it_is_told_and_the_terminal_shows_both() {
    let front = Shopfront::new("caution(\"Suction holds skin.\");");
    let on_page = [&RUNNER[..3], &["", "help", "jot the bench is cold", "park"]].concat();
    let (ended, board) = with_page(&front, &[], &on_page);
    assert!(matches!(ended, Ended::Parked), "{ended:?}");
    let shown = front.shown();
    for wanted in
        ["page: Ada", "page: Enter", "Read the caution, then type ok.", "page: help", "Noted.", "page: park"]
    {
        assert!(shown.contains(wanted), "no {wanted:?} in {shown}");
    }
    assert_eq!(board.now().sight.ask, None, "nothing is asked when it is over");
}

#[test]
fn a_photo_of_the_page_is_kept_and_no_file_of_the_machine_is_read_for_a_path_typed_there() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("bore.png");
    std::fs::write(&path, png(20, 10)).unwrap();
    let typed = format!("photo {}", path.display());
    let front = Shopfront::new("test(c);");
    let board = Arc::<Board>::default();
    thread::scope(|scope| {
        let page = Arc::clone(&board);
        let typed = &typed;
        scope.spawn(move || {
            let browser = Browser(&page);
            browser.types(&RUNNER);
            browser.types(&[typed]);
            seen(&page, |sight| sight.ask.as_ref().is_some_and(|ask| ask.refusal.is_some()));
            let photo = Picture::of_photo(jpeg(64, 48)).unwrap();
            sends(&page, "photo \"IMG 1.jpg\" at the spring end", Some(photo));
            browser.types(&["22", "25", "5"]);
        });
        let prompt = front.prompt(&[]).with_page(Arc::clone(&board)).unwrap();
        let ended = front.walk_with(Box::new(Person::new(prompt, &UNITS[0]).at_bench())).unwrap();
        board.close(State::Ended);
        let Ended::Finished(record, _) = ended else { panic!("{ended:?} {}", front.shown()) };
        let photos: Vec<_> =
            record.photos().map(|(.., photo)| (photo.width, photo.words.as_deref())).collect();
        assert_eq!(photos, [(64, Some("at the spring end"))]);
    });
    let shown = front.flat();
    assert!(shown.contains("On the page a photo is chosen or dropped, and not typed."), "{shown}");
}

#[test]
fn the_terminal_takes_a_photo_from_a_file_while_a_page_is_open() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("bore.png");
    std::fs::write(&path, png(20, 10)).unwrap();
    let typed = format!("photo {}", path.display());
    let front = Shopfront::new("test(c);");
    let board = Arc::<Board>::default();
    let lines = [&RUNNER[..], &[&typed, "22", "25", "5"]].concat();
    let prompt = front.prompt(&lines).with_page(board).unwrap();
    let ended = front.walk_with(Box::new(Person::new(prompt, &UNITS[0]).at_bench())).unwrap();
    let Ended::Finished(record, _) = ended else { panic!("{ended:?} {}", front.shown()) };
    assert_eq!(record.photos().count(), 1);
}
