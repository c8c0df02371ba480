use std::error::Error;

use bytes::BytesMut;
use postgres::types::{FromSql, IsNull, Type, to_sql_checked};
use rusqlite::types::{ToSqlOutput, ValueRef};

/// What stands in a column of an answer, as the file's database hands it over.
pub(in crate::history) struct ServerCell<'a>(pub(in crate::history) ValueRef<'a>);

impl<'a> FromSql<'a> for ServerCell<'a> {
    fn from_sql(kind: &Type, raw: &'a [u8]) -> Result<Self, Box<dyn Error + Sync + Send>> {
        Ok(ServerCell(match *kind {
            Type::BOOL => ValueRef::Integer(bool::from_sql(kind, raw)?.into()),
            Type::INT4 => ValueRef::Integer(i32::from_sql(kind, raw)?.into()),
            Type::INT8 => ValueRef::Integer(i64::from_sql(kind, raw)?),
            Type::FLOAT8 => ValueRef::Real(f64::from_sql(kind, raw)?),
            Type::TEXT => ValueRef::Text(raw),
            Type::BYTEA => ValueRef::Blob(raw),
            _ => return Err(format!("an answer has a column of the type {kind}").into()),
        }))
    }

    fn from_sql_null(_: &Type) -> Result<Self, Box<dyn Error + Sync + Send>> {
        Ok(ServerCell(ValueRef::Null))
    }

    fn accepts(_: &Type) -> bool {
        true
    }
}

/// A parameter as the file's database takes it.
#[derive(Debug)]
pub(super) struct Parameter<'a>(pub(super) ToSqlOutput<'a>);

impl postgres::types::ToSql for Parameter<'_> {
    fn to_sql(&self, kind: &Type, out: &mut BytesMut) -> Result<IsNull, Box<dyn Error + Sync + Send>> {
        let value = match &self.0 {
            ToSqlOutput::Borrowed(value) => *value,
            ToSqlOutput::Owned(value) => value.into(),
            other => return Err(format!("a parameter is {other:?}").into()),
        };
        match value {
            ValueRef::Null => Ok(IsNull::Yes),
            ValueRef::Integer(number) => match *kind {
                Type::BOOL => (number != 0).to_sql(kind, out),
                Type::INT4 => i32::try_from(number)?.to_sql(kind, out),
                _ => number.to_sql_checked(kind, out),
            },
            ValueRef::Real(number) => number.to_sql_checked(kind, out),
            ValueRef::Text(text) => std::str::from_utf8(text)?.to_sql_checked(kind, out),
            ValueRef::Blob(bytes) => bytes.to_sql_checked(kind, out),
        }
    }

    fn accepts(_: &Type) -> bool {
        true
    }

    to_sql_checked!();
}
