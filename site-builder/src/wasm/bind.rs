//! Part of stage 9: from what the linker leaves to what a page loads.

use super::Bound;
use super::mentions::{Mentions, Node, Piece};
use super::shorten::shorten;
use super::silence::silence;
use super::words::part;
use std::collections::{BTreeMap, BTreeSet};
use walrus::{
    ConstExpr, DataKind, ElementItems, FunctionBuilder, FunctionId, Module, ModuleConfig, ir::Value,
};
use wasm_bindgen_cli_support::Bindgen;

/// The linked module `compiled` with its bindings, and apart from it the words of each of its
/// `calculators`, by name.
///
/// # Errors
/// `calculators` are not those of the module, or one of the libraries refuses it.
pub fn bind(
    compiled: &[u8],
    calculators: &[&str],
) -> Result<(Bound, BTreeMap<String, Vec<u8>>), String> {
    let mut module = ModuleConfig::new()
        // Names are read, for the next step, but not written.
        .generate_name_section(false)
        .generate_producers_section(false)
        .parse(compiled)
        .map_err(|error| format!("{error:#}"))?;
    for notes in ["linking", "reloc.CODE", "reloc.DATA"] {
        module.customs.remove_raw(notes);
    }
    // Both libraries count functions alike.
    let functions: Vec<FunctionId> = module.funcs.iter().map(walrus::Function::id).collect();
    let silenced = silence(&mut module);

    let mentions = Mentions::read(compiled, &silenced.instructions)?;
    let mut silent = mentions.places();
    let numbered = (0..).zip(&functions);
    silent.extend(
        numbered
            .filter(|(_, id)| silenced.functions.contains(id))
            .map(|(at, _)| Node::Function(at)),
    );
    let parted = part(&mentions, &silent, calculators)?;
    trim_table(&mut module, &functions, &parted.used);
    replace_data(&mut module, parted.core)?;
    shorten(&mut module);
    let mut output = Bindgen::new()
        .input_module("core", module)
        .web(true)
        .and_then(|bindgen| {
            bindgen
                .typescript(false)
                // The page names the file itself, since it is named by its content.
                .omit_default_module_path(true)
                .generate_output()
        })
        .map_err(|error| format!("{error:#}"))?;
    let script = output.js().to_owned();
    let wasm = output.wasm_mut().emit_wasm();
    Ok((Bound { script, wasm }, parted.words))
}

/// Takes out of the table of functions what nobody can ask for; it then falls away.
fn trim_table(module: &mut Module, functions: &[FunctionId], used: &BTreeSet<Node>) {
    let numbered = (0..).zip(functions);
    let used: BTreeSet<FunctionId> = numbered
        .filter(|(at, _)| used.contains(&Node::Function(*at)))
        .map(|(_, id)| *id)
        .collect();
    let mut builder = FunctionBuilder::new(&mut module.types, &[], &[]);
    builder.func_body().unreachable();
    let never = module.funcs.add_local(builder.local_func(Vec::new()));
    for element in module.elements.iter_mut() {
        if let ElementItems::Functions(functions) = &mut element.items {
            for function in functions.iter_mut().filter(|id| !used.contains(id)) {
                *function = never;
            }
        }
    }
}

/// Puts `pieces` in the place of all data.
fn replace_data(module: &mut Module, pieces: Vec<Piece>) -> Result<(), String> {
    let memory = module.memories.iter().next().ok_or("no memory")?.id();
    let old: Vec<_> = module.data.iter().map(walrus::Data::id).collect();
    for id in old {
        module.data.delete(id);
    }
    module.memories.get_mut(memory).data_segments.clear();
    for piece in pieces {
        let offset = ConstExpr::Value(Value::I32(piece.address.cast_signed()));
        let kind = DataKind::Active { memory, offset };
        let id = module.data.add(kind, piece.bytes);
        module.memories.get_mut(memory).data_segments.insert(id);
    }
    Ok(())
}
