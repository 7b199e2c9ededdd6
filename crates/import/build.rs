//! Embeds the definitions of the folder `importers`.

use std::fmt::Write as _;
use std::path::Path;
use std::{env, fs, io};

fn main() -> io::Result<()> {
    let folder = Path::new(&env::var("CARGO_MANIFEST_DIR").unwrap_or_default()).join("../../importers");
    println!("cargo::rerun-if-changed={}", folder.display());
    let mut ids: Vec<String> = fs::read_dir(&folder)?
        .filter_map(|entry| Some(entry.ok()?.file_name().to_string_lossy().into_owned()))
        .filter(|id| folder.join(id).join("importer.toml").is_file())
        .collect();
    ids.sort();
    let mut out = String::from("static SHIPPED: &[(&str, &str)] = &[\n");
    for id in &ids {
        let text = fs::read_to_string(folder.join(id).join("importer.toml"))?;
        let _ = writeln!(out, "    ({id:?}, {text:?}),");
    }
    out.push_str("];\n");
    fs::write(Path::new(&env::var("OUT_DIR").unwrap_or_default()).join("shipped.rs"), out)
}
