use std::collections::HashMap;

use postgres::{Client, Row, Statement};
use rusqlite::types::ToSql;

use super::values::Parameter;
use super::{Address, ServerError};
use crate::history::IndexError;
use crate::record::Mode;

/// A connection to a server. It asks and changes what is of one mode.
pub(in crate::history) struct Server {
    client: Client,
    mode: Mode,
    /// What was prepared so far, by its text.
    statements: HashMap<String, Statement>,
}

impl Server {
    pub(in crate::history) fn connect(address: &Address, mode: Mode) -> Result<Server, ServerError> {
        let mut client = address.connect()?;
        look_in(&mut client, mode)?;
        Ok(Server { client, mode, statements: HashMap::new() })
    }

    /// Returns of which version the tables of the history are.
    pub(in crate::history) fn version(&mut self) -> Result<Option<i64>, ServerError> {
        version_of(&mut self.client, self.mode)
    }

    pub(in crate::history) fn may_ask(&mut self) -> Result<bool, ServerError> {
        may_ask(&mut self.client, self.mode)
    }

    /// Returns whether this login may take up into the tables what arrived.
    pub(in crate::history) fn may_take_up(&mut self) -> Result<bool, ServerError> {
        Ok(self.client.query_one("SELECT has_table_privilege('pending', 'DELETE')", &[])?.get(0))
    }

    pub(in crate::history) fn ask(
        &mut self,
        sql: &str,
        parameters: &[&dyn ToSql],
    ) -> Result<Vec<Row>, IndexError> {
        let statement = self.prepared(sql)?;
        let parameters = parameters.iter().map(|parameter| Ok(Parameter(parameter.to_sql()?)));
        let parameters: Vec<Parameter<'_>> = parameters.collect::<rusqlite::Result<_>>()?;
        let parameters: Vec<&(dyn postgres::types::ToSql + Sync)> =
            parameters.iter().map(|it| it as _).collect();
        self.client.query(&statement, &parameters).map_err(|error| ServerError::from(error).into())
    }

    pub(in crate::history) fn say(&mut self, sql: &str) -> Result<(), ServerError> {
        Ok(self.client.batch_execute(sql)?)
    }

    fn prepared(&mut self, sql: &str) -> Result<Statement, ServerError> {
        if let Some(known) = self.statements.get(sql) {
            return Ok(known.clone());
        }
        let statement = self.client.prepare(sql)?;
        self.statements.insert(sql.to_owned(), statement.clone());
        Ok(statement)
    }
}

pub(super) fn schema(mode: Mode) -> String {
    format!("spoolproof_history_{}", mode.word())
}

/// Has the names of tables from here on mean those of a mode, and what was sent.
pub(super) fn look_in(client: &mut Client, mode: Mode) -> Result<(), ServerError> {
    Ok(client.batch_execute(&format!("SET search_path TO {}, spoolproof, pg_temp", schema(mode)))?)
}

/// Returns whether a login may ask the tables of a mode.
pub(super) fn may_ask(client: &mut Client, mode: Mode) -> Result<bool, ServerError> {
    let sql = "SELECT has_schema_privilege(oid, 'USAGE') FROM pg_namespace WHERE nspname = $1";
    let may = client.query_opt(sql, &[&schema(mode)])?.ok_or(ServerError::NotPrepared)?;
    Ok(may.get(0))
}

/// Returns of which version the tables of a mode are; none where there are none.
pub(super) fn version_of(client: &mut Client, mode: Mode) -> Result<Option<i64>, ServerError> {
    let state = format!("{}.state", schema(mode));
    if client.query_one("SELECT to_regclass($1) IS NULL", &[&state])?.get(0) {
        return Ok(None);
    }
    let version = client.query_opt(&format!("SELECT value FROM {state} WHERE name = 'version'"), &[])?;
    Ok(version.map(|row| row.get(0)))
}
