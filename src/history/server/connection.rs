use std::collections::HashMap;

use postgres::{Client, Row, Statement};
use rusqlite::types::ToSql;

use super::values::Parameter;
use super::{Address, ServerError};
use crate::history::IndexError;

/// A connection to a server. It asks and changes within the schema `spoolproof`.
pub(in crate::history) struct Server {
    client: Client,
    /// What was prepared so far, by its text.
    statements: HashMap<String, Statement>,
}

impl Server {
    pub(in crate::history) fn connect(address: &Address) -> Result<Server, ServerError> {
        Ok(Server { client: address.connect()?, statements: HashMap::new() })
    }

    /// Returns of which version the tables of the history are.
    pub(in crate::history) fn version(&mut self) -> Result<Option<i64>, ServerError> {
        version_of(&mut self.client)
    }

    pub(in crate::history) fn may_ask(&mut self) -> Result<bool, ServerError> {
        may_ask(&mut self.client)
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

/// Returns whether a login may ask the tables of the history.
pub(super) fn may_ask(client: &mut Client) -> Result<bool, ServerError> {
    Ok(client.query_one("SELECT has_table_privilege('state', 'SELECT')", &[])?.get(0))
}

/// Returns of which version the tables of the history are; none where there are none.
pub(super) fn version_of(client: &mut Client) -> Result<Option<i64>, ServerError> {
    if client.query_one("SELECT to_regclass('spoolproof.state') IS NULL", &[])?.get(0) {
        return Ok(None);
    }
    let version = client.query_opt("SELECT value FROM state WHERE name = 'version'", &[])?;
    Ok(version.map(|row| row.get(0)))
}
