//! A block is worked out once, whoever draws on it: its page, sentences, card, plan and kit. Alone in
//! its file, and so in its process, for it counts.

use calc_wasm::calculators::evaluations;
use site_builder::build;
use site_builder::output::wasm::Module;
use site_builder::read::source::Folders;
use std::fs;

const HEAD: &str = "---\ntitle: A run\nkind: technique\nsummary: For the count.\nhazards: [None, it is a test]\nsources: [None]\nreviewed: 2026-11-28\n---\n\n";

/// Four blocks, and all that draws on them.
const BLOCKS: &str = r#"
```run
substance = { label = "Substance", value = "toluene" }
volume = { label = "Volume", value = "120 mL" }
setting = ["boiling-point.temperature", "bath-setting.bath_temperature"]
```

```calculator boiling-point
substance = "=substance"
pressure = "100 ± 1 mmHg"
```

```calculator bath-setting
substance = "=substance"
pressure = "100 ± 1 mmHg"
volume = "=volume"
```

```calculator flask-size
volume = "=volume"
```

```calculator class-quantities
groups = 12
```

`=substance` boils at `=boiling-point.temperature`, the bath stands at `=bath-setting.bath_temperature`,
and again `=boiling-point.temperature` in `=flask-size.size`.

```plan
[[part]]
name = "Distil"
takes = "=bath-setting.distilling_time"
```

```kit
also = ["beaker"]
```
"#;

/// How often calculators were asked while a site with this page was built.
fn asked(body: &str) -> usize {
    let folder = std::env::temp_dir().join(format!("forerun-once-{}", std::process::id()));
    let root = forerun_tests::root();
    let techniques = folder.join("techniques");
    fs::create_dir_all(&techniques).expect("a folder");
    fs::write(techniques.join("counted.md"), format!("{HEAD}{body}")).expect("a page");
    let data = std::process::Command::new("cp")
        .args(["-r"])
        .arg(root.join("content/data"))
        .arg(&folder)
        .status();
    assert!(data.expect("cp").success());
    let folders = Folders {
        content: folder.clone(),
        templates: root.join("templates"),
        published: folder.join("none"),
        ..Folders::default()
    };
    let before = evaluations();
    let built = build(&folders, &Module::default());
    let after = evaluations();
    fs::remove_dir_all(&folder).expect("tidied");
    let errors = built.err().unwrap_or_default();
    assert!(errors.is_empty(), "{errors:#?}");
    after - before
}

#[test]
fn each_block_is_worked_out_once() {
    let empty = asked("Nothing is worked out here.\n");
    assert_eq!(asked(BLOCKS) - empty, 4);
}
