//! Part of stage 9: panics lose their words.
//!
//! No input may make the core panic. Should it happen all the same, the call ends and the page
//! says that these values could not be worked out; nobody at a bench reads more. So what words a
//! panic goes, and with it the sentences that it was given.

use std::collections::BTreeSet;
use walrus::ir::{Instr, InstrSeq, Unreachable, VisitorMut, dfs_pre_order_mut};
use walrus::{FunctionId, FunctionKind, Module};

/// Functions that only word a panic, by parts of their names: those that never come back, and
/// those that write a value for programmers, which only panics ask for. Both ways in which the
/// compiler writes names are here.
const WORDS_OF_PANICS: &[&str] = &[
    "9panicking",
    "slice_error_fail",
    "slice_index_fail",
    "unwrap_failed",
    "expect_failed",
    "capacity_overflow",
    "handle_alloc_error",
    "rust_panic",
    "8raw_vec12handle_error",
    "core..fmt..Debug$GT$",
    "3fmt5Debug3fmt",
];

/// What is no longer asked for.
#[derive(Debug, Default)]
pub struct Silenced {
    /// The functions that nothing calls any more.
    pub functions: BTreeSet<FunctionId>,
    /// Where in the file the instructions stood that are gone.
    pub instructions: BTreeSet<u32>,
}

/// Ends the call at once wherever a panic would be worded.
pub fn silence(module: &mut Module) -> Silenced {
    let worded = module.funcs.iter().filter(|function| {
        let name = function.name.as_deref().unwrap_or_default();
        WORDS_OF_PANICS.iter().any(|part| name.contains(part))
    });
    let mut silenced = Silenced {
        functions: worded.map(walrus::Function::id).collect(),
        ..Silenced::default()
    };
    // A function that now does nothing but end the call is silent as well.
    loop {
        let known = silenced.functions.len();
        for (id, function) in module.funcs.iter_local_mut() {
            let entry = function.entry_block();
            dfs_pre_order_mut(&mut silenced, function, entry);
            let first = function.block(entry).instrs.first();
            if matches!(first, Some((Instr::Unreachable(_), _))) {
                silenced.functions.insert(id);
            }
        }
        if silenced.functions.len() == known {
            break;
        }
    }
    for id in &silenced.functions {
        if let FunctionKind::Local(function) = &mut module.funcs.get_mut(*id).kind {
            let entry = function.entry_block();
            let ends = (Instr::Unreachable(Unreachable {}), Default::default());
            function.block_mut(entry).instrs = vec![ends];
        }
    }
    silenced
}

impl VisitorMut for Silenced {
    /// A call that would word a panic becomes the end, and what was only put ready for it goes.
    fn start_instr_seq_mut(&mut self, sequence: &mut InstrSeq) {
        let silent = |(instruction, _): &(Instr, _)| match instruction {
            Instr::Call(call) => self.functions.contains(&call.func),
            _ => false,
        };
        let Some(at) = sequence.instrs.iter().position(silent) else {
            return;
        };
        let ready = |(instruction, _): &(Instr, _)| {
            matches!(instruction, Instr::Const(_) | Instr::LocalGet(_))
        };
        let before = &sequence.instrs[..at];
        let from = before.iter().rposition(|one| !ready(one));
        let gone = sequence.instrs.split_off(from.map_or(0, |at| at + 1));
        let places = gone.iter().filter(|(_, place)| !place.is_default());
        self.instructions
            .extend(places.map(|(_, place)| place.data()));
        let ends = (Instr::Unreachable(Unreachable {}), Default::default());
        sequence.instrs.push(ends);
    }
}
