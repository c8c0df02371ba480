//! What the server answers to each request.

use std::cell::Cell;
use std::net::{IpAddr, SocketAddr};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

use bytes::Bytes;
use http_body_util::channel::Channel;
use http_body_util::{BodyExt, Either, Full, LengthLimitError, Limited};
use hyper::body::Incoming;
use hyper::header::{self, HeaderValue};
use hyper::{Method, Request, Response, StatusCode};
use percent_encoding::percent_decode_str;
use serde::Deserialize;
use tokio::sync::watch;

use super::asked::{self, Foreign};
use super::events::{self, News};
use super::pairing::CodeTried;
use super::server::addresses;
use super::site::FILES;
use super::upload::{self, Uploads};
use super::{Board, LONGEST_LINE, NotTaken, PageLine, PagePairing};
use crate::picture::Picture;

/// What all requests are answered from.
pub(super) struct Served {
    pub(super) board: Arc<Board>,
    pub(super) pairing: Arc<Mutex<PagePairing>>,
    pub(super) served: SocketAddr,
    pub(super) news: watch::Receiver<News>,
    pub(super) uploads: Uploads,
}

/// The connection that a request came by.
pub(super) struct Connection {
    pub(super) from: IpAddr,
    /// How long it may stay open, where that is longer than usual.
    pub(super) stays: Cell<Duration>,
}

type Outgoing = Either<Full<Bytes>, Channel<Bytes>>;

/// How long a browser is sent what happens before it has to ask again: so what is left of one that is gone ends.
const LISTENS_FOR: Duration = Duration::from_secs(15 * 60);

/// Longest request to pair, in bytes.
const LONGEST_CODE: usize = 256;

/// Longest request with a typed line, in bytes: JSON makes at most six of one.
const LONGEST_TYPED: usize = 6 * LONGEST_LINE + 256;

/// A line as a browser sends it.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SentLine {
    question: u64,
    text: String,
}

/// The page runs its own script and style and nothing else, loads from here only, and stands in no other page.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; \
                      base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

const HEADERS: [(&str, &str); 5] = [
    ("content-security-policy", POLICY),
    ("cache-control", "no-store"),
    ("x-content-type-options", "nosniff"),
    ("referrer-policy", "no-referrer"),
    ("cross-origin-resource-policy", "same-origin"),
];

impl Served {
    pub(super) async fn answer(
        &self,
        request: Request<Incoming>,
        connection: &Connection,
    ) -> Response<Outgoing> {
        let mut response = match asked::check(&request, self.served) {
            Ok(()) => self.answer_own(request, connection).await,
            Err(Foreign::Host) => said(
                StatusCode::MISDIRECTED_REQUEST,
                "The page is not served under this name. Open the address that the terminal shows.",
            ),
            Err(Foreign::Origin) => {
                said(StatusCode::FORBIDDEN, "This was sent by another page than this one.")
            }
        };
        for (name, value) in HEADERS {
            response.headers_mut().insert(name, HeaderValue::from_static(value));
        }
        response
    }

    async fn answer_own(&self, request: Request<Incoming>, connection: &Connection) -> Response<Outgoing> {
        let is_known = asked::cookie(request.headers(), self.served)
            .is_some_and(|cookie| self.pairing.lock().unwrap_or_else(PoisonError::into_inner).knows(cookie));
        let path = request.uri().path();
        let file = FILES.iter().find(|file| file.path == path);
        let photo = path.strip_prefix("/photo/").filter(|_| is_known).and_then(photo_line);
        let picture = path.strip_prefix("/picture/").filter(|_| is_known).and_then(|name| self.picture(name));
        if let (&Method::POST, Some(line)) = (request.method(), photo) {
            connection.stays.set(upload::LONGEST);
            return match self.uploads.photo(&line.name, request.into_body()).await {
                Ok(photo) => self.hand_in(PageLine { photo: Some(photo), ..line.line }),
                Err((status, why)) => said(status, &why),
            };
        }
        match (request.method(), path, file, picture) {
            (&Method::GET, _, Some(file), _) => whole(StatusCode::OK, file.kind, file.text.into()),
            (&Method::POST, "/pair", ..) => match read(request.into_body(), LONGEST_CODE).await {
                Ok(code) => self.pair(&code, connection.from),
                Err(refused) => refused,
            },
            _ if !is_known => {
                said(StatusCode::UNAUTHORIZED, "The terminal shows a code that lets this browser in.")
            }
            (&Method::GET, "/events", ..) => {
                connection.stays.set(LISTENS_FOR);
                let mut response = Response::new(Either::Right(events::stream(self.news.clone())));
                let kind = HeaderValue::from_static("application/x-ndjson");
                response.headers_mut().insert(header::CONTENT_TYPE, kind);
                response
            }
            (&Method::POST, "/line", ..) => match read(request.into_body(), LONGEST_TYPED).await {
                Ok(typed) => self.line(&typed),
                Err(refused) => refused,
            },
            (&Method::GET, _, _, Some(picture)) => {
                whole(StatusCode::OK, picture.kind.media_type(), picture.bytes().to_vec().into())
            }
            _ => said(StatusCode::NOT_FOUND, "There is nothing under this address."),
        }
    }

    fn picture(&self, name: &str) -> Option<Picture> {
        self.board.picture(&percent_decode_str(name).decode_utf8().ok()?)
    }

    fn pair(&self, code: &str, from: IpAddr) -> Response<Outgoing> {
        let (tried, now) = {
            let mut pairing = self.pairing.lock().unwrap_or_else(PoisonError::into_inner);
            (pairing.try_code(code, Instant::now()), pairing.code())
        };
        let open = || addresses(self.served, &now).join(" or ");
        match tried {
            Ok(CodeTried::Paired(cookie)) => {
                self.board.notice(format!("A browser at {from} has the page. For another one: {}", open()));
                let set = format!(
                    "{}={cookie}; Path=/; HttpOnly; SameSite=Strict",
                    asked::cookie_name(self.served)
                );
                let mut response = said(StatusCode::OK, "");
                // It is made of a number, letters and these marks.
                if let Ok(set) = HeaderValue::try_from(set) {
                    response.headers_mut().insert(header::SET_COOKIE, set);
                }
                response
            }
            Ok(CodeTried::Wrong) => said(
                StatusCode::FORBIDDEN,
                "That is not the code. Each code lets one browser in: the terminal shows the one of now.",
            ),
            Ok(CodeTried::Renewed(shut)) => {
                let minutes = shut.as_secs().div_ceil(60);
                self.board.notice(format!(
                    "Five wrong codes came to the page, the last from {from}. None is taken for {minutes} min; after that: {}",
                    open()
                ));
                shut_for(minutes)
            }
            Ok(CodeTried::Shut(left)) => shut_for(left.as_secs().div_ceil(60)),
            Err(error) => said(StatusCode::INTERNAL_SERVER_ERROR, &error.to_string()),
        }
    }

    fn line(&self, typed: &str) -> Response<Outgoing> {
        let Ok(SentLine { question, text }) = serde_json::from_str(typed) else {
            return said(StatusCode::BAD_REQUEST, "A line is sent with the number of its question.");
        };
        self.hand_in(PageLine { question, text, photo: None })
    }

    fn hand_in(&self, line: PageLine) -> Response<Outgoing> {
        match self.board.hand_in(line) {
            // It counts when the next sight shows it.
            Ok(()) => said(StatusCode::ACCEPTED, ""),
            Err(NotTaken::Stale) => {
                let now = News::of(&self.board).sight;
                whole(StatusCode::CONFLICT, "application/json", now)
            }
            Err(error @ NotTaken::NoLine) => said(StatusCode::BAD_REQUEST, &error.to_string()),
        }
    }
}

fn shut_for(minutes: u64) -> Response<Outgoing> {
    let why = format!(
        "Too many wrong codes came. None is taken for {minutes} min; the terminal shows the next one."
    );
    said(StatusCode::TOO_MANY_REQUESTS, &why)
}

/// The line that goes with a photo, and its file's name.
struct PhotoLine {
    line: PageLine,
    name: String,
}

/// Makes the line that goes with a photo of an address: the number of the question, the file's name and what it shows.
fn photo_line(address: &str) -> Option<PhotoLine> {
    let mut parts = address.splitn(3, '/').map(|part| percent_decode_str(part).decode_utf8().ok());
    let question = parts.next()??.parse().ok()?;
    let (name, words) = (parts.next()??, parts.next()??);
    let name: String = name.chars().filter(|c| !c.is_control() && !['"', '\\'].contains(c)).collect();
    let text = format!("photo \"{name}\" {words}").trim_end().to_owned();
    Some(PhotoLine { line: PageLine { question, text, photo: None }, name })
}

/// Reads a request's body of text, up to its longest.
async fn read(body: Incoming, longest: usize) -> Result<String, Response<Outgoing>> {
    match Limited::new(body, longest).collect().await {
        Ok(collected) => String::from_utf8(collected.to_bytes().into())
            .map_err(|_| said(StatusCode::BAD_REQUEST, "This is no text.")),
        Err(error) if error.is::<LengthLimitError>() => {
            Err(said(StatusCode::PAYLOAD_TOO_LARGE, "This is longer than what is taken here."))
        }
        Err(_) => Err(said(StatusCode::BAD_REQUEST, "The request broke off.")),
    }
}

fn said(status: StatusCode, words: &str) -> Response<Outgoing> {
    whole(status, "text/plain; charset=utf-8", words.to_owned().into())
}

fn whole(status: StatusCode, kind: &'static str, bytes: Bytes) -> Response<Outgoing> {
    let mut response = Response::new(Either::Left(Full::new(bytes)));
    *response.status_mut() = status;
    response.headers_mut().insert(header::CONTENT_TYPE, HeaderValue::from_static(kind));
    response
}
