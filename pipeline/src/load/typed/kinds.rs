//! Which types of a column are read as text, and what the others are in words.

use polars_arrow::datatypes::ArrowDataType;

/// What a column that is not read holds, in words; `None` for one that is read.
pub(crate) fn unread(kind: &ArrowDataType) -> Option<&'static str> {
    use ArrowDataType as Kind;
    match kind {
        Kind::Null
        | Kind::Int8
        | Kind::Int16
        | Kind::Int32
        | Kind::Int64
        | Kind::UInt8
        | Kind::UInt16
        | Kind::UInt32
        | Kind::UInt64
        | Kind::Float32
        | Kind::Float64
        | Kind::Decimal(..)
        | Kind::Utf8
        | Kind::LargeUtf8
        | Kind::Utf8View
        | Kind::Date32
        | Kind::Date64
        | Kind::Timestamp(_, None) => None,
        Kind::Dictionary(_, values, _) => unread(values),
        Kind::Extension(extension) => unread(&extension.inner),
        Kind::Boolean => Some("truths (yes or no)"),
        Kind::List(_) | Kind::LargeList(_) | Kind::FixedSizeList(..) | Kind::Map(..) => {
            Some("lists")
        }
        Kind::Struct(_) | Kind::Union(_) => Some("several values a row"),
        Kind::Timestamp(..) => Some("moments of a time zone"),
        Kind::Time32(_) | Kind::Time64(_) => Some("times of day"),
        Kind::Duration(_) | Kind::Interval(_) => Some("spans of time"),
        Kind::Binary | Kind::LargeBinary | Kind::BinaryView | Kind::FixedSizeBinary(_) => {
            Some("bytes")
        }
        _ => Some("a kind of value that cannot be read"),
    }
}
