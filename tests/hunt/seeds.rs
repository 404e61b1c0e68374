//! What the fuzzers begin with: the labelled frames, tapes and configurations. `BISMAR_SEEDS` names the folder that they
//! are written to; without it this only shows that they can be made.

use crate::rows::rows;
use bismar::dialect::Dialect;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

fn seeds() -> BTreeMap<&'static str, Vec<Vec<u8>>> {
    let mut all: BTreeMap<&str, Vec<Vec<u8>>> = BTreeMap::new();
    for row in rows() {
        for (index, dialect) in Dialect::ALL.iter().enumerate().filter(|(_, dialect)| row.dialects.contains(dialect)) {
            let said = if dialect.facts().says.units.is_empty() { 1 } else { 0 };
            all.entry("frames").or_default().push([&[index as u8, said], &row.bytes[..]].concat());
        }
        // Two bytes a character, sound and without a pause.
        let chars: Vec<u8> = row.bytes.repeat(6).iter().flat_map(|&byte| [byte, 0x22]).collect();
        all.entry("hunter").or_default().push([&[0], &chars[..]].concat());
    }
    let read = |path: &str| std::fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join(path)).unwrap();
    let head = |bytes: Vec<u8>| bytes.split_inclusive(|byte| *byte == b'\n').take(12).collect::<Vec<_>>().concat();
    let texts = [
        (0, head(read("tests/fixtures/tapes/heap-1-header.tape"))),
        (0, head(read("tests/fixtures/tapes/fast-5-bare.tape"))),
        (1, read("systemd/bismar.toml")),
        (1, read("systemd/bismar.toml").iter().filter(|byte| **byte != b'#').copied().collect()),
        (2, b"(?<value>[-0-9.]+) *(?<unit>kg)\n 12.34 kg\r\n".to_vec()),
    ];
    all.insert("texts", texts.into_iter().map(|(which, text)| [&[which], &text[..]].concat()).collect());
    all
}

#[test]
fn seeds_for_the_fuzzers_can_be_made() {
    let seeds = seeds();
    let first = |seed: &Vec<u8>| usize::from(seed[0]);
    let families: std::collections::BTreeSet<usize> = seeds["frames"].iter().map(first).collect();
    assert_eq!(families.len(), Dialect::ALL.len());
    let Some(folder) = std::env::var_os("BISMAR_SEEDS").map(PathBuf::from) else { return };
    for (target, seeds) in seeds {
        let folder = folder.join(target);
        std::fs::create_dir_all(&folder).unwrap();
        for (index, seed) in seeds.iter().enumerate() {
            std::fs::write(folder.join(index.to_string()), seed).unwrap();
        }
    }
}
