//! `bismar completions` and `bismar manual`, from the definition of the verbs itself.

use super::Arguments;
use super::client::print;
use clap::{Args, Command, CommandFactory};
use clap_complete::Shell;
use clap_mangen::Man;

/// Prints what a shell needs to complete the verbs and their options.
#[derive(Args)]
pub struct Completions {
    shell: Shell,
}

/// Prints the manual as a man page; to read it: bismar manual | man -l -
#[derive(Args)]
pub struct Manual {}

impl Completions {
    pub fn run(self) -> anyhow::Result<()> {
        let mut text = Vec::new();
        clap_complete::generate(self.shell, &mut Arguments::command(), "bismar", &mut text);
        Ok(print(&String::from_utf8(text)?)?)
    }
}

impl Manual {
    pub fn run(self) -> anyhow::Result<()> {
        let mut command = Arguments::command();
        // Names every verb in full, and hands down the options that all of them have.
        command.build();
        let mut text = Vec::new();
        let man = Man::new(command.clone());
        man.render_title(&mut text)?;
        man.render_name_section(&mut text)?;
        man.render_synopsis_section(&mut text)?;
        man.render_description_section(&mut text)?;
        man.render_options_section(&mut text)?;
        let mut page = String::from_utf8(text)?;
        page.push_str(EXIT);
        for verb in command.get_subcommands() {
            chapter(verb, &mut page)?;
        }
        Ok(print(&page)?)
    }
}

const EXIT: &str = ".SH \"EXIT STATUS\"\n0 done, 1 failed, 2 wrong usage, 78 bad configuration.\n";

/// A chapter for a verb, or one for each that it has under it.
fn chapter(verb: &Command, page: &mut String) -> anyhow::Result<()> {
    if verb.get_name() == "help" || verb.is_hide_set() {
        return Ok(());
    }
    if verb.has_subcommands() {
        return verb.get_subcommands().try_for_each(|verb| chapter(verb, page));
    }
    let mut text = Vec::new();
    let man = Man::new(verb.clone());
    man.render_synopsis_section(&mut text)?;
    man.render_description_section(&mut text)?;
    man.render_options_section(&mut text)?;
    let name = verb.get_bin_name().unwrap_or_else(|| verb.get_name());
    page.push_str(&format!(".SH \"{}\"\n", name.to_uppercase()));
    page.push_str(&String::from_utf8(text)?.replace(".SH ", ".SS "));
    Ok(())
}
