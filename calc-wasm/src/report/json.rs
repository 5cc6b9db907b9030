//! The answer as JSON, values unrounded.

use serde_json::{Map, Value as Json, json as object};

use crate::calculators::Calculator;
use crate::outcome::{Outcome, Value};
use crate::problem::Problem;

/// One object with results, notes, cautions, method, source and `in_range`; or with `problems`.
pub fn json(calculator: &Calculator, answer: &Result<Outcome, Vec<Problem>>) -> Json {
    let outcome = match answer {
        Ok(outcome) => outcome,
        Err(problems) => {
            let problems: Vec<Json> = problems
                .iter()
                .map(|problem| object!({"input": problem.input, "message": &*problem.message}))
                .collect();
            return object!({"calculator": calculator.name, "problems": problems});
        }
    };
    let mut results = Map::new();
    for figure in &outcome.figures {
        let value = match &figure.value {
            Value::Number(value) => object!(value),
            Value::Words(words) => object!(words),
        };
        let mut result = object!({"value": value, "unit": figure.unit, "label": figure.label});
        if let (Some(low), Some(high)) = (figure.low, figure.high) {
            result["low"] = object!(low);
            result["high"] = object!(high);
        }
        results.insert(figure.name.to_string(), result);
    }
    let cautions: Vec<&str> = outcome
        .cautions
        .iter()
        .map(|caution| &*caution.text)
        .collect();
    object!({
        "calculator": calculator.name,
        "results": results,
        "notes": outcome.notes.iter().map(|note| &**note).collect::<Vec<&str>>(),
        "cautions": cautions,
        "method": &*outcome.method,
        "source": &*outcome.source,
        "validity": &*outcome.validity,
        "in_range": !outcome.extrapolated,
    })
}
