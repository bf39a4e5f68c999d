//! Arrow arrays to cells of text.

use polars_arrow::array::{
    Array, DictionaryArray, PrimitiveArray, Utf8Array, Utf8ViewArray, get_value_display,
};
use polars_arrow::datatypes::ArrowDataType;

use crate::load::opened::Cell;

/// Adds the cells of an array; a value that is not there and a number that is none (NaN) are empty.
pub(super) fn put(array: &dyn Array, cells: &mut Vec<Cell>) {
    if matches!(array.dtype(), ArrowDataType::Null) {
        cells.resize(cells.len() + array.len(), None);
        return;
    }
    if let ArrowDataType::Decimal(_, scale) = array.dtype().to_storage() {
        // The library's own text of a decimal drops zeros after the point and the sign of -0.5.
        if let Some(numbers) = array.as_any().downcast_ref::<PrimitiveArray<i128>>() {
            cells.extend(numbers.iter().map(|number| Some(decimal(*number?, *scale))));
            return;
        }
    }
    if put_texts(array, cells) || put_categories(array, cells) {
        return;
    }
    let is_float = matches!(
        array.dtype().to_storage(),
        ArrowDataType::Float32 | ArrowDataType::Float64
    );
    let is_time = matches!(array.dtype().to_storage(), ArrowDataType::Timestamp(..));
    let write = get_value_display(array, "");
    for row in 0..array.len() {
        let mut text = String::new();
        if array.is_null(row) || write(&mut text, row).is_err() {
            cells.push(None);
            continue;
        }
        if is_float && text == "NaN" {
            cells.push(None);
            continue;
        }
        if is_time {
            drop_midnight(&mut text);
        }
        cells.push((!text.is_empty()).then_some(text));
    }
}

/// Adds the cells of an array of texts; false where it is none.
fn put_texts(array: &dyn Array, cells: &mut Vec<Cell>) -> bool {
    let any = array.as_any();
    let text = |text: Option<&str>| text.filter(|text| !text.is_empty()).map(str::to_owned);
    if let Some(texts) = any.downcast_ref::<Utf8ViewArray>() {
        cells.extend(texts.iter().map(text));
    } else if let Some(texts) = any.downcast_ref::<Utf8Array<i64>>() {
        cells.extend(texts.iter().map(text));
    } else if let Some(texts) = any.downcast_ref::<Utf8Array<i32>>() {
        cells.extend(texts.iter().map(text));
    } else {
        return false;
    }
    true
}

/// Adds the cells of an array of categories, each the one its number stands for; false where it is
/// none.
fn put_categories(array: &dyn Array, cells: &mut Vec<Cell>) -> bool {
    macro_rules! of {
        ($($key:ty),*) => {
            $(if let Some(numbers) = array.as_any().downcast_ref::<DictionaryArray<$key>>() {
                let mut names = Vec::new();
                put(numbers.values().as_ref(), &mut names);
                let name = |row| {
                    let known = !numbers.is_null(row);
                    known.then(|| names.get(numbers.key_value(row)).cloned().flatten()).flatten()
                };
                cells.extend((0..numbers.len()).map(name));
                return true;
            })*
        };
    }
    of!(i8, i16, i32, i64, u8, u16, u32, u64);
    false
}

/// A moment at midnight is a date: many programs know no other.
fn drop_midnight(text: &mut String) {
    if let Some(date) = text.strip_suffix(" 00:00:00") {
        text.truncate(date.len());
    }
}

/// A whole number with its point put in: 5 with two decimals is 0.05.
fn decimal(number: i128, scale: usize) -> String {
    let digits = format!("{:0>width$}", number.unsigned_abs(), width = scale + 1);
    let (whole, part) = digits.split_at(digits.len() - scale);
    let sign = if number < 0 { "-" } else { "" };
    let point = if scale > 0 { "." } else { "" };
    format!("{sign}{whole}{point}{part}")
}

#[cfg(test)]
mod tests {
    use polars_arrow::array::PrimitiveArray;

    #[test]
    fn a_decimal_keeps_its_zeros_and_its_sign() {
        for (number, scale, text) in [
            (5, 2, "0.05"),
            (-50, 2, "-0.50"),
            (12345, 2, "123.45"),
            (7, 0, "7"),
        ] {
            assert_eq!(super::decimal(number, scale), text);
        }
    }

    proptest::proptest! {
        #[test]
        fn a_double_is_the_same_double_again(value in proptest::num::f64::NORMAL) {
            let mut cells = Vec::new();
            super::put(&PrimitiveArray::from_vec(vec![value]), &mut cells);
            let back: f64 = cells[0].as_ref().unwrap().parse().unwrap();
            proptest::prop_assert_eq!(back.to_bits(), value.to_bits());
        }
    }
}
