//! The page's server: listens, bounds what strangers can take of it, and runs on a thread of its own.

use std::cell::RefCell;
use std::collections::HashMap;
use std::io;
use std::net::{IpAddr, Ipv4Addr, SocketAddr, UdpSocket};
use std::pin::pin;
use std::rc::Rc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread::JoinHandle;
use std::time::Duration;

use hyper::server::conn::http1;
use hyper::service::service_fn;
use hyper_util::rt::{TokioIo, TokioTimer};
use tokio::net::{TcpListener, TcpStream};
use tokio::runtime::{Builder, Runtime};
use tokio::sync::watch;
use tokio::task::LocalSet;
use tokio::time::{sleep, timeout};

use super::events::{self, News};
use super::pairing::NoChance;
use super::serving::{Connection, Served};
use super::upload::Uploads;
use super::{Board, PagePairing};
use crate::console::leave_stops;

/// How many connections are open at most, and of one address: one machine that floods the server
/// leaves room for a tablet.
const MOST_CONNECTIONS: usize = 96;
const MOST_OF_ONE_ADDRESS: usize = 32;

/// How long a browser may take for the head of a request, and as a rule for all of it and the answer.
const HEAD_WITHIN: Duration = Duration::from_secs(5);
const ANSWERED_WITHIN: Duration = Duration::from_secs(10);

/// Longest head of a request in bytes, and the most lines of it.
const LONGEST_HEAD: usize = 16 * 1024;
const MOST_HEADERS: usize = 64;

/// How long the end of a session waits for browsers to have it.
const FAREWELL: Duration = Duration::from_secs(2);

/// The page of a session, served until it is dropped.
pub(crate) struct Server {
    served: SocketAddr,
    pairing: Arc<Mutex<PagePairing>>,
    is_over: Arc<AtomicBool>,
    threads: Vec<JoinHandle<()>>,
}

/// Why the page can't be served.
#[derive(Debug, thiserror::Error)]
pub(crate) enum PageError {
    #[error(
        "the page can't be served at {0}: {1}. Give --page another address or port, or none, which takes a free port."
    )]
    Listen(SocketAddr, io::Error),
    #[error("the page can't be served: {0}")]
    Machine(io::Error),
    #[error(transparent)]
    NoChance(#[from] NoChance),
}

impl Server {
    /// Serves what a board shows, at an address of this machine; port 0 takes a free one.
    pub(crate) fn open(board: Arc<Board>, address: SocketAddr) -> Result<Server, PageError> {
        let taken = |error| PageError::Listen(address, error);
        let listener = std::net::TcpListener::bind(address).map_err(taken)?;
        listener.set_nonblocking(true).map_err(taken)?;
        let served = listener.local_addr().map_err(taken)?;
        let runtime = Builder::new_current_thread().enable_all().build().map_err(PageError::Machine)?;
        let listener = {
            let _inside = runtime.enter();
            TcpListener::from_std(listener).map_err(PageError::Machine)?
        };
        let pairing = Arc::new(Mutex::new(PagePairing::new()?));
        let is_over = Arc::new(AtomicBool::new(false));
        let (tell, news) = watch::channel(News::of(&board));
        let thread = |name: &str| std::thread::Builder::new().name(name.to_owned());
        let mut server =
            Server { served, pairing: pairing.clone(), is_over: is_over.clone(), threads: Vec::new() };
        let watched = board.clone();
        let watching = move || {
            leave_stops();
            events::watch(&watched, &tell, &is_over);
        };
        server.threads.push(thread("page's news").spawn(watching).map_err(PageError::Machine)?);
        let shared = Served { board, pairing, served, news, uploads: Uploads::default() };
        let serving = move || {
            leave_stops();
            serve(runtime, listener, Rc::new(shared));
        };
        server.threads.push(thread("page").spawn(serving).map_err(PageError::Machine)?);
        Ok(server)
    }

    /// Returns the addresses to open, each with the code in it, which a browser keeps to itself.
    pub(crate) fn addresses(&self) -> Vec<String> {
        addresses(self.served, &self.code())
    }

    /// Returns the code to type where an address was opened without it.
    pub(crate) fn code(&self) -> String {
        self.pairing.lock().unwrap_or_else(PoisonError::into_inner).code()
    }

    /// Ends it, when every browser that listens has what was published last, or after two seconds.
    pub(crate) fn close(self) {}
}

impl Drop for Server {
    fn drop(&mut self) {
        self.is_over.store(true, Ordering::Relaxed);
        for thread in self.threads.drain(..) {
            // One that panicked has ended too.
            let _ = thread.join();
        }
    }
}

/// Returns the addresses under which a browser finds what is served at one.
pub(super) fn addresses(served: SocketAddr, code: &str) -> Vec<String> {
    let found = match served.ip() {
        ip if ip.is_unspecified() => {
            [own_address(), Some(Ipv4Addr::LOCALHOST.into())].into_iter().flatten().collect()
        }
        ip => vec![ip],
    };
    found.into_iter().map(|ip| format!("http://{}/#{code}", SocketAddr::new(ip, served.port()))).collect()
}

/// Returns this machine's address in its network: the one from which it would send to the world. Nothing is sent; the
/// other address is one of those that nobody has (RFC 5737).
fn own_address() -> Option<IpAddr> {
    let socket = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0)).ok()?;
    socket.connect((Ipv4Addr::new(192, 0, 2, 1), 9)).ok()?;
    Some(socket.local_addr().ok()?.ip())
}

/// Serves until the news end, and then until what is being answered has been.
fn serve(runtime: Runtime, listener: TcpListener, shared: Rc<Served>) {
    let tasks = LocalSet::new();
    let open = Rc::new(RefCell::new(HashMap::new()));
    let mut news = shared.news.clone();
    let accepting = {
        let open = open.clone();
        tasks.spawn_local(async move {
            loop {
                match listener.accept().await {
                    Ok((stream, from)) => {
                        // One too many is closed at once.
                        if let Some(place) = Seat::place(&open, from.ip()) {
                            tokio::task::spawn_local(answer(stream, from.ip(), shared.clone(), place));
                        }
                    }
                    // Out of file descriptors, as a rule: that passes.
                    Err(_) => sleep(Duration::from_millis(100)).await,
                }
            }
        })
    };
    tasks.block_on(&runtime, async move {
        while news.changed().await.is_ok() {}
        accepting.abort();
        let farewell = async {
            while !open.borrow().is_empty() {
                sleep(Duration::from_millis(5)).await;
            }
        };
        let _ = timeout(FAREWELL, farewell).await;
    });
    // A photo that is still being decoded is nobody's any more.
    runtime.shutdown_background();
}

/// Answers the one request of a connection.
async fn answer(stream: TcpStream, from: IpAddr, shared: Rc<Served>, _place: Seat) {
    let connection = Rc::new(Connection { from, stays: Duration::ZERO.into() });
    let asked = connection.clone();
    let service = service_fn(move |request| {
        let (shared, asked) = (shared.clone(), asked.clone());
        async move { Ok::<_, hyper::Error>(shared.answer(request, &asked).await) }
    });
    let answering = http1::Builder::new()
        .keep_alive(false)
        .timer(TokioTimer::new())
        .header_read_timeout(HEAD_WITHIN)
        .max_buf_size(LONGEST_HEAD)
        .max_headers(MOST_HEADERS)
        .serve_connection(TokioIo::new(stream), service);
    let mut answering = pin!(answering);
    // What a browser breaks off is its own affair.
    if timeout(ANSWERED_WITHIN, answering.as_mut()).await.is_err() {
        let _ = timeout(connection.stays.get(), answering).await;
    }
}

type Open = Rc<RefCell<HashMap<IpAddr, usize>>>;

/// One of the connections that may be open, given back when it is dropped.
struct Seat {
    open: Open,
    from: IpAddr,
}

impl Seat {
    fn place(open: &Open, from: IpAddr) -> Option<Seat> {
        let mut counts = open.borrow_mut();
        let is_full = counts.values().sum::<usize>() >= MOST_CONNECTIONS;
        let of_one = counts.entry(from).or_default();
        let is_free = !is_full && *of_one < MOST_OF_ONE_ADDRESS;
        *of_one += usize::from(is_free);
        counts.retain(|_, n| *n > 0);
        is_free.then(|| Seat { open: open.clone(), from })
    }
}

impl Drop for Seat {
    fn drop(&mut self) {
        let mut counts = self.open.borrow_mut();
        if let Some(n) = counts.get_mut(&self.from) {
            *n -= 1;
        }
        counts.retain(|_, n| *n > 0);
    }
}
