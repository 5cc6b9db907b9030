//! Part of stage 9: numbers are written short.
//!
//! A floating-point constant takes nine bytes. Most of ours are 0, 1, 100 or a half: made from a
//! small whole number, or from a number of half the width, the same value takes three to six,
//! and the browser's compiler works it out once.

use walrus::Module;
use walrus::ir::{Const, Instr, InstrSeq, UnaryOp, Unop, Value, VisitorMut, dfs_pre_order_mut};

/// Writes every floating-point constant of `module` as short as it goes.
pub fn shorten(module: &mut Module) {
    for (_, function) in module.funcs.iter_local_mut() {
        let entry = function.entry_block();
        dfs_pre_order_mut(&mut Shortener, function, entry);
    }
}

struct Shortener;

impl VisitorMut for Shortener {
    fn start_instr_seq_mut(&mut self, sequence: &mut InstrSeq) {
        let mut short = Vec::with_capacity(sequence.instrs.len());
        for (instruction, place) in sequence.instrs.drain(..) {
            let made = match &instruction {
                Instr::Const(Const {
                    value: Value::F64(value),
                }) => made_from(*value),
                _ => None,
            };
            match made {
                Some((value, op)) => {
                    short.push((Instr::Const(Const { value }), place));
                    short.push((Instr::Unop(Unop { op }), place));
                }
                None => short.push((instruction, place)),
            }
        }
        sequence.instrs = short;
    }
}

/// A shorter constant, and what makes exactly `value` of it; none where there is none.
fn made_from(value: f64) -> Option<(Value, UnaryOp)> {
    let whole = value as i32;
    // Up to here a whole number takes two bytes, and so four in all.
    let small = (-8192..8192).contains(&whole);
    if small && f64::from(whole).to_bits() == value.to_bits() {
        return Some((Value::I32(whole), UnaryOp::F64ConvertSI32));
    }
    let half = value as f32;
    // What is not a number may come out as another of its kind.
    (!value.is_nan() && f64::from(half).to_bits() == value.to_bits())
        .then_some((Value::F32(half), UnaryOp::F64PromoteF32))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn makes_the_very_same_number() {
        let back = |value| match made_from(value) {
            Some((Value::I32(whole), UnaryOp::F64ConvertSI32)) => f64::from(whole),
            Some((Value::F32(half), UnaryOp::F64PromoteF32)) => f64::from(half),
            _ => value,
        };
        let numbers = [
            0.0,
            -0.0,
            1.0,
            -1.0,
            760.0,
            8191.0,
            8192.0,
            -8192.0,
            1e9,
            0.5,
            0.1,
            273.15,
            f64::INFINITY,
            f64::MAX,
            f64::MIN_POSITIVE,
            1e-40,
        ];
        for number in numbers {
            assert_eq!(back(number).to_bits(), number.to_bits(), "{number}");
        }
        assert!(matches!(made_from(760.0), Some((Value::I32(760), _))));
        assert!(matches!(made_from(-0.0), Some((Value::F32(_), _))));
        assert!(made_from(0.1).is_none() && made_from(f64::NAN).is_none());
    }
}
