//! `bismar export` and `bismar import`: the books as plain text for other programs, and back.

use super::books::damage_of;
use super::client::home;
use crate::store::{self, RealDisk};
use anyhow::{Context, ensure};
use clap::Args;
use std::fs::File;
use std::io::{self, BufRead, BufReader, BufWriter, Write};
use std::path::{Path, PathBuf};

/// Writes every event of the books as one JSON object a line, also while the daemon runs. `bismar import` takes it back.
#[derive(Args)]
pub struct Export {
    /// The file to write; it must not exist. Without it, standard output.
    #[arg(long, value_name = "FILE")]
    to: Option<PathBuf>,
    /// The directory of the books; without it, the usual one.
    #[arg(long, value_name = "DIR")]
    store: Option<PathBuf>,
}

/// Makes books from an export, in a directory where there are none. All of it is checked first, to the last line.
#[derive(Args)]
pub struct Import {
    /// What `bismar export` wrote; `-` is standard input.
    #[arg(long, value_name = "FILE")]
    from: PathBuf,
    /// The directory for the books; without it, the usual one.
    #[arg(long, value_name = "DIR")]
    store: Option<PathBuf>,
}

impl Export {
    pub fn run(self) -> anyhow::Result<()> {
        let dir = home(self.store);
        let report = store::verify(&dir, &RealDisk)?;
        ensure!(report.segments > 0, "{}: there are no books here; name their directory with --store", dir.display());
        let exported = match &self.to {
            None => store::export(&dir, &RealDisk, &mut io::stdout().lock())?,
            Some(path) => {
                let file = File::create_new(path).with_context(|| format!("{} cannot be written", path.display()))?;
                let mut out = BufWriter::new(file);
                let exported = store::export(&dir, &RealDisk, &mut out)?;
                out.flush()
                    .and_then(|()| out.get_ref().sync_all())
                    .with_context(|| format!("{} cannot be written", path.display()))?;
                exported
            }
        };
        eprintln!("events 1 to {}, {}", exported.seq, exported.hash);
        // What damaged books give ends where they are damaged; nobody should take it for the whole.
        damage_of(&dir, exported.seq, &exported.damage)
    }
}

impl Import {
    pub fn run(self) -> anyhow::Result<()> {
        let dir = home(self.store);
        let mut from: Box<dyn BufRead> = if self.from == Path::new("-") {
            Box::new(io::stdin().lock())
        } else {
            let name = self.from.display();
            Box::new(BufReader::new(File::open(&self.from).with_context(|| format!("{name} cannot be read"))?))
        };
        let imported =
            store::import(&mut from, &dir, &RealDisk).with_context(|| format!("nothing was imported into {}", dir.display()))?;
        let copy = store::verify(&dir, &RealDisk)?;
        ensure!(
            copy.state.reasons().is_empty() && copy.head == imported.seq,
            "{}: the books do not read back as they were written; import again, to another disk",
            dir.display()
        );
        Ok(super::client::print(&format!(
            "{}: events 1 to {}, read back and sound, {}\n",
            dir.display(),
            imported.seq,
            imported.hash
        ))?)
    }
}
