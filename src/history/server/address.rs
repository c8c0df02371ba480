use std::fmt;
use std::fs;
use std::net::IpAddr;
use std::path::{Path, PathBuf};
use std::time::Duration;

use percent_encoding::percent_decode_str;
use postgres::config::{Host, SslMode};
use postgres::{Client, Config, NoTls};
use rustls::pki_types::CertificateDer;
use rustls::pki_types::pem::PemObject;
use rustls::{ClientConfig, RootCertStore};
use tokio_postgres_rustls::MakeRustlsConnect;

use super::ServerError;
use super::pass_file::password_for;

/// How long a server may take to answer at all.
const PATIENCE: Duration = Duration::from_secs(4);

/// How long what was sent may stay unacknowledged.
const SILENCE: Duration = Duration::from_secs(30);

/// Where a server is and how it is reached.
#[derive(Debug, Clone)]
pub(crate) struct Address {
    config: Config,
    /// Whether the connection is encrypted and the server's certificate verified, with its name.
    is_verified: bool,
    /// A file of authorities; those of the system where there is none.
    roots: Option<PathBuf>,
}

impl Address {
    /// Reads an address as `postgres://LOGIN@HOST:PORT/DATABASE`, which may end in
    /// `?sslmode=verify-full&sslrootcert=FILE`.
    ///
    /// On the way to another machine the connection is encrypted and the certificate verified, unless
    /// `sslmode=disable` says otherwise.
    ///
    /// # Errors
    /// Where it is no such address, or holds a password.
    pub(crate) fn parse(text: &str) -> Result<Address, ServerError> {
        // What is shown of a wrong address must not show what may be a password in it.
        let hidden = text.split_once('@').map_or(text, |(_, after)| after);
        let wrong = || ServerError::NotAnAddress(hidden.to_owned());
        if !["postgres://", "postgresql://"].iter().any(|scheme| text.starts_with(scheme)) {
            return Err(wrong());
        }
        let (bare, options) = text.split_once('?').unwrap_or((text, ""));
        let (mut mode, mut roots, mut others) = (None, None, Vec::new());
        for option in options.split('&').filter(|option| !option.is_empty()) {
            match option.split_once('=') {
                Some(("sslmode", said)) => mode = Some(said),
                Some(("sslrootcert", file)) if file != "system" => {
                    let file = percent_decode_str(file).decode_utf8().map_err(|_| wrong())?;
                    roots = Some(PathBuf::from(file.into_owned()));
                }
                Some(("sslrootcert", _)) => roots = None,
                _ => others.push(option),
            }
        }
        let mut config: Config = format!("{bare}?{}", others.join("&")).parse().map_err(|_| wrong())?;
        if config.get_password().is_some() {
            return Err(ServerError::PasswordInAddress);
        }
        let [host] = config.get_hosts() else { return Err(wrong()) };
        let is_verified = match mode {
            None => !is_near(host),
            Some("disable") => false,
            // Who asks for encryption gets the certificate verified with it: else it is anybody's.
            Some("require" | "verify-ca" | "verify-full") => true,
            Some(other) => return Err(ServerError::Mode(other.to_owned())),
        };
        config.connect_timeout(PATIENCE).tcp_user_timeout(SILENCE).application_name("spoolproof");
        Ok(Address { config, is_verified, roots })
    }

    /// Connects, with the password of the pass file where one is wanted.
    pub(super) fn connect(&self) -> Result<Client, ServerError> {
        let mut config = self.config.clone();
        if let Some(password) = password_for(self.login(), &self.place(), self.database())? {
            config.password(password);
        }
        let mut client = if self.is_verified {
            config.ssl_mode(SslMode::Require).connect(MakeRustlsConnect::new(self.verifying()?))?
        } else {
            config.ssl_mode(SslMode::Disable).connect(NoTls)?
        };
        client.batch_execute("SET search_path TO spoolproof, pg_temp")?;
        // Without a part in the schema nothing of it is found, as though the server were not prepared.
        let sql = "SELECT has_schema_privilege(oid, 'USAGE') FROM pg_namespace WHERE nspname = 'spoolproof'";
        if client.query_opt(sql, &[])?.is_some_and(|row| !row.get::<_, bool>(0)) {
            return Err(ServerError::NoPart(self.login().to_owned()));
        }
        Ok(client)
    }

    fn verifying(&self) -> Result<ClientConfig, ServerError> {
        let mut roots = RootCertStore::empty();
        let place = match &self.roots {
            Some(file) => {
                let bytes = fs::read(file).map_err(|error| ServerError::File(file.clone(), error))?;
                roots.add_parsable_certificates(CertificateDer::pem_slice_iter(&bytes).flatten());
                file.as_path()
            }
            None => {
                roots.add_parsable_certificates(rustls_native_certs::load_native_certs().certs);
                Path::new("the system's certificates")
            }
        };
        if roots.is_empty() {
            return Err(ServerError::NoRoots(place.to_owned()));
        }
        Ok(ClientConfig::builder().with_root_certificates(roots).with_no_client_auth())
    }

    pub(crate) fn login(&self) -> &str {
        self.config.get_user().unwrap_or_default()
    }

    pub(super) fn database(&self) -> &str {
        self.config.get_dbname().unwrap_or_else(|| self.login())
    }

    /// Returns host and port.
    fn place(&self) -> (String, u16) {
        let host = match self.config.get_hosts() {
            [Host::Tcp(name), ..] => name.clone(),
            _ => "localhost".to_owned(),
        };
        (host, self.config.get_ports().first().copied().unwrap_or(5432))
    }
}

impl fmt::Display for Address {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (host, port) = self.place();
        write!(out, "{} at {host}:{port}", self.database())
    }
}

/// Whether what is sent never leaves this machine.
fn is_near(host: &Host) -> bool {
    match host {
        Host::Tcp(name) => name == "localhost" || name.parse::<IpAddr>().is_ok_and(|it| it.is_loopback()),
        #[cfg(unix)]
        Host::Unix(_) => true,
    }
}
