//! A cell of a table as text.

use toml::de::DeValue;

/// A cell's text, exactly as written for numbers; `None` for what no cell can hold.
pub(crate) fn plain(value: &DeValue<'_>) -> Option<String> {
    Some(match value {
        // Tabs and line ends part cells and rows in the flattened text.
        DeValue::String(words) => words
            .split(['\t', '\n', '\r'])
            .collect::<Vec<_>>()
            .join(" "),
        DeValue::Integer(number) => number.to_string().replace('_', ""),
        DeValue::Float(number) => number.to_string().replace('_', ""),
        DeValue::Boolean(truth) => truth.to_string(),
        DeValue::Array(items) => {
            let cells = items
                .iter()
                .map(|item| match item.get_ref() {
                    DeValue::Array(_) | DeValue::Table(_) => None,
                    item => plain(item),
                })
                .collect::<Option<Vec<_>>>()?;
            // Words may hold spaces; numbers never do.
            let words = items.iter().any(|item| item.get_ref().is_str());
            cells.join(if words { "; " } else { " " })
        }
        DeValue::Datetime(day) => day.to_string(),
        DeValue::Table(_) => return None,
    })
}
