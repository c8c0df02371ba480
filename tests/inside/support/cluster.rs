//! A PostgreSQL server of the test's own, on a loopback port, that can be killed and started again.

use std::net::TcpListener;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use postgres::{Client, NoTls};

use super::program::PATIENCE;
use crate::history::{Address, Index};

/// The account that a server runs under where the tests run as root, which it refuses.
const ACCOUNT: &str = "postgres";

/// A server with an empty database, which is gone with the test.
pub(crate) struct Cluster {
    folder: tempfile::TempDir,
    bin: PathBuf,
    port: u16,
    child: Option<Child>,
}

impl Cluster {
    /// Starts a server; none where PostgreSQL is not installed, which only the checks of `.ci/run` do not take.
    pub(crate) fn start() -> Option<Cluster> {
        let Some(bin) = programs() else {
            assert!(std::env::var_os("CI").is_none(), "PostgreSQL is not installed");
            return None;
        };
        let folder = tempfile::tempdir().unwrap();
        let port = TcpListener::bind(("127.0.0.1", 0)).unwrap().local_addr().unwrap().port();
        let mut cluster = Cluster { folder, bin, port, child: None };
        if is_root() {
            let owned = Command::new("chown").arg(ACCOUNT).arg(cluster.folder.path()).status();
            assert!(owned.unwrap().success(), "there is no account {ACCOUNT}");
        }
        let made = cluster
            .program("initdb")
            .args(["--auth=trust", "--encoding=UTF8", "--locale=C.UTF-8", "--username=boss", "-D"])
            .arg(cluster.data())
            .output()
            .unwrap();
        assert!(made.status.success(), "{}", String::from_utf8_lossy(&made.stderr));
        cluster.run();
        cluster.boss("postgres").batch_execute("CREATE DATABASE school").unwrap();
        Some(cluster)
    }

    /// Starts a server that is prepared for records.
    pub(crate) fn prepared() -> Option<Cluster> {
        let cluster = Cluster::start()?;
        assert_eq!(Index::prepare_server(&cluster.address("boss")).unwrap(), 1);
        Some(cluster)
    }

    /// Starts one that lets in the benches `north` and `south`, and a `teacher`.
    pub(crate) fn of_school() -> Option<Cluster> {
        let cluster = Cluster::prepared()?;
        cluster.admit("north", "spoolproof_bench");
        cluster.admit("south", "spoolproof_bench");
        cluster.admit("teacher", "spoolproof_instructor");
        Some(cluster)
    }

    /// Starts the server, or starts it again: it gives up while some of what it had begun before is still there.
    pub(crate) fn run(&mut self) {
        let begun = Instant::now();
        while self.client("boss", "postgres").is_err() {
            assert!(begun.elapsed() < PATIENCE, "the server does not start");
            let is_gone = |child: &mut Child| child.try_wait().unwrap().is_some();
            if self.child.as_mut().is_none_or(is_gone) {
                let mut command = self.program("postgres");
                command.args(["-c", "listen_addresses=127.0.0.1", "-c", "max_connections=120", "-p"]);
                command
                    .arg(self.port.to_string())
                    .arg("-k")
                    .arg(self.folder.path())
                    .arg("-D")
                    .arg(self.data());
                let child = command.stdout(Stdio::null()).stderr(Stdio::null()).spawn();
                self.child = Some(child.unwrap());
            }
            std::thread::sleep(Duration::from_millis(20));
        }
    }

    /// Kills the server as a power cut does: by SIGKILL, with all that it has begun.
    pub(crate) fn kill(&mut self) {
        let mut child = self.child.take().unwrap();
        // Those that it has begun end by themselves once it is gone.
        child.kill().unwrap();
        child.wait().unwrap();
    }

    /// Says something as the one who may do everything.
    pub(crate) fn boss(&self, database: &str) -> Client {
        self.client("boss", database).unwrap()
    }

    /// Connects a login without this program.
    pub(crate) fn client(&self, login: &str, database: &str) -> Result<Client, postgres::Error> {
        Client::connect(&format!("host=127.0.0.1 port={} user={login} dbname={database}", self.port), NoTls)
    }

    /// Lets a login in as one of `spoolproof_bench` or `spoolproof_instructor`.
    pub(crate) fn admit(&self, login: &str, group: &str) {
        let sql = format!("CREATE ROLE {login} LOGIN PASSWORD 'of {login}' IN ROLE {group}");
        self.boss("school").batch_execute(&sql).unwrap();
    }

    /// The address of its database for a login, as people write it.
    pub(crate) fn url(&self, login: &str) -> String {
        format!("postgres://{login}@127.0.0.1:{}/school", self.port)
    }

    pub(crate) fn address(&self, login: &str) -> Address {
        Address::parse(&self.url(login)).unwrap()
    }

    pub(crate) fn port(&self) -> u16 {
        self.port
    }

    /// Writes a file into its folder of data, for it alone to read.
    pub(crate) fn place(&self, name: &str, text: &[u8]) {
        let path = self.data().join(name);
        std::fs::write(&path, text).unwrap();
        let done = Command::new("chmod").arg("600").arg(&path).status().unwrap().success()
            && (!is_root() || Command::new("chown").arg(ACCOUNT).arg(&path).status().unwrap().success());
        assert!(done, "{}", path.display());
    }

    /// Adds a line to its settings, which the next start reads.
    pub(crate) fn set(&self, line: &str) {
        let settings = std::fs::read_to_string(self.data().join("postgresql.conf")).unwrap();
        self.place("postgresql.conf", format!("{settings}\n{line}\n").as_bytes());
    }

    fn data(&self) -> PathBuf {
        self.folder.path().join("data")
    }

    /// A command of PostgreSQL under the account that it runs under.
    fn program(&self, name: &str) -> Command {
        let path = self.bin.join(name);
        let mut command = Command::new(if is_root() { Path::new("setpriv") } else { &path });
        if is_root() {
            let account = [format!("--reuid={ACCOUNT}"), format!("--regid={ACCOUNT}")];
            command.args(account).arg("--clear-groups").arg(path);
        }
        command.current_dir(self.folder.path());
        command
    }
}

impl Drop for Cluster {
    fn drop(&mut self) {
        if self.child.is_some() {
            self.kill();
        }
    }
}

/// Finds the newest PostgreSQL that is installed, where Debian puts it or where `pg_config` says.
fn programs() -> Option<PathBuf> {
    let installed = std::fs::read_dir("/usr/lib/postgresql").into_iter().flatten().flatten();
    let debian =
        installed.map(|version| version.path().join("bin")).filter(|bin| bin.join("initdb").is_file());
    debian.max().or_else(|| {
        let said = Command::new("pg_config").arg("--bindir").output().ok()?;
        let bin = PathBuf::from(String::from_utf8(said.stdout).ok()?.trim());
        bin.join("initdb").is_file().then_some(bin)
    })
}

#[cfg(unix)]
fn is_root() -> bool {
    nix::unistd::geteuid().is_root()
}

#[cfg(not(unix))]
fn is_root() -> bool {
    false
}
