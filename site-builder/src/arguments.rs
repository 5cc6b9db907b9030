//! What may be written after `forerun`: one description, from which the reading, the help, the
//! completions of shells and the manual pages are made.

use clap::{Args, CommandFactory, Parser, Subcommand};
use clap_complete::Shell;
use std::io;
use std::path::{Path, PathBuf};

/// Turns pages on laboratory technique, written in Markdown, into a website whose numbers are
/// worked out in the page.
///
/// Without a command it previews. Run anywhere inside a course, it finds the folder that holds
/// `content/site.toml`. Data, parts, templates, style and script are inside the program; what the
/// course has itself lies over them.
#[derive(Debug, Parser)]
#[command(name = "forerun", version, after_help = EXIT_CODES, after_long_help = EXIT_CODES)]
pub struct Arguments {
    #[command(subcommand)]
    pub command: Option<Command>,
    #[command(flatten)]
    pub places: Places,
    #[command(flatten)]
    pub port: Port,
}

const EXIT_CODES: &str = "Exit code: 0 all is well, 1 something was found, 2 wrong use.";

/// What to do.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Lay out a small course in a new folder
    ///
    /// It has a page on a technique, an experiment, a substance and an assembly of its own, and
    /// passes `forerun proof`. A folder that holds anything is refused.
    Start {
        /// The folder, which is made where it is lacking
        folder: PathBuf,
    },
    /// Write the site, serve it on this machine, write it anew on each change
    Preview(Port),
    /// Check everything, write nothing
    Proof,
    /// Write the site
    Build,
    /// Run a calculator here; without NAME, list them
    Compute {
        /// The calculator, as the list has it, then an input each, as `pressure=100 mmHg`
        #[arg(value_names = ["NAME", "KEY=VALUE"], num_args = 0..)]
        words: Vec<String>,
        /// Unrounded, for a program to read
        #[arg(long)]
        json: bool,
    },
    /// List the files inside the program, or print one
    ///
    /// A file of the same path in the course replaces it. Rows of tables and parts add to the
    /// shipped ones, so a table of a course holds its own rows alone.
    Shipped {
        /// The file, as the list has it
        file: Option<String>,
    },
    /// Print what completes commands in a shell
    Completions {
        /// The shell
        shell: Shell,
    },
    /// Write the manual pages
    Manual {
        /// Where to, as `~/.local/share/man/man1`
        folder: PathBuf,
    },
}

/// Where things are. What is not named is looked for under its usual name.
#[derive(Debug, Default, Args)]
pub struct Places {
    /// Pages and data of the course [usually: content]
    #[arg(long, global = true, value_name = "FOLDER")]
    pub content: Option<PathBuf>,
    /// Templates, style and script that replace the shipped ones [usually: templates]
    #[arg(long, global = true, value_name = "FOLDER")]
    pub templates: Option<PathBuf>,
    /// Published values, for the page of checks [usually: tests/published]
    #[arg(long, global = true, value_name = "FOLDER")]
    pub published: Option<PathBuf>,
    /// The finished site [usually: public]
    #[arg(long, global = true, value_name = "FOLDER")]
    pub out: Option<PathBuf>,
}

/// Where the preview listens.
#[derive(Debug, Args)]
pub struct Port {
    /// The preview's port on this machine; 0 takes any that is free
    #[arg(long, default_value_t = 8064)]
    pub port: u16,
}

impl Places {
    /// Goes to the course that this folder is in, where its content is not here and not named.
    /// Gives the course's folder if it is another one.
    ///
    /// # Errors
    /// The system does not let it.
    pub fn go_to_course(&mut self) -> io::Result<Option<PathBuf>> {
        if self.content.is_some() || Path::new("content").is_dir() {
            return Ok(None);
        }
        let here = std::env::current_dir()?;
        let is_course = |folder: &&Path| folder.join("content/site.toml").is_file();
        let Some(course) = here.ancestors().skip(1).find(is_course) else {
            return Ok(None);
        };
        // What was named was meant from here.
        let named = [&mut self.templates, &mut self.published, &mut self.out];
        for place in named.into_iter().flatten() {
            *place = here.join(&*place);
        }
        std::env::set_current_dir(course)?;
        Ok(Some(course.to_owned()))
    }
}

/// What completes commands in `shell`.
pub fn completions(shell: Shell) -> Vec<u8> {
    let mut script = Vec::new();
    clap_complete::generate(shell, &mut Arguments::command(), "forerun", &mut script);
    script
}

/// Writes a manual page for the program and one for each command.
///
/// # Errors
/// The folder cannot be made or written to.
pub fn manual(folder: &Path) -> io::Result<()> {
    std::fs::create_dir_all(folder)?;
    clap_mangen::generate_to(Arguments::command(), folder)
}
