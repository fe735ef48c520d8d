//! Which file takes something from which, and the circles in that.

use super::paths::{self, Import};
use super::source::Source;
use std::collections::{BTreeMap, BTreeSet};

/// A module by its path from the crate's root.
type Module = Vec<String>;

/// What one file names.
struct Named {
    imports: Vec<Import>,
    paths: Vec<Vec<String>>,
}

/// The files' modules and what each names.
pub struct Graph<'a> {
    files: BTreeMap<Module, &'a Source>,
    named: BTreeMap<Module, Named>,
}

impl<'a> Graph<'a> {
    pub fn new(sources: &'a [Source]) -> Self {
        let files: BTreeMap<Module, &Source> = sources
            .iter()
            .filter(|source| source.path != "src/main.rs")
            .map(|source| (source.module(), source))
            .collect();
        let named = files
            .iter()
            .map(|(module, source)| {
                let code: Vec<&str> = source.code_lines().collect();
                let (imports, paths) = paths::named(&paths::tokens(&code.join("\n")));
                (module.clone(), Named { imports, paths })
            })
            .collect();
        Self { files, named }
    }

    /// Each file with those that it takes something from. An item handed on by `pub use` counts
    /// as taken from the file that defines it.
    fn arrows(&self) -> BTreeMap<&Module, BTreeSet<&Module>> {
        self.named
            .iter()
            .map(|(module, named)| {
                let imported = named.imports.iter().map(|import| &import.path);
                let to = imported
                    .chain(&named.paths)
                    .filter_map(|path| self.home(module, path, 0))
                    .filter(|home| *home != module)
                    .collect();
                (module, to)
            })
            .collect()
    }

    /// The file in which what `module` calls by this path is defined; none for other crates.
    fn home(&self, module: &Module, path: &[String], depth: usize) -> Option<&Module> {
        let (first, rest) = path.split_first()?;
        let place = match first.as_str() {
            "crate" | "struck" => rest.to_vec(),
            "self" => join(module, rest),
            "super" => {
                let ups = path.iter().take_while(|word| *word == "super").count();
                let stem = &module[..module.len().checked_sub(ups)?];
                join(stem, &path[ups..])
            }
            name if self.files.contains_key(&join(module, &[name.to_owned()])) => {
                join(module, path)
            }
            name => {
                let import = self.named[module].import(name)?;
                if depth > 8 || import.path[..] == *path {
                    return None;
                }
                let whole: Vec<String> = import.path.iter().chain(rest).cloned().collect();
                return self.home(module, &whole, depth + 1);
            }
        };
        let stem = (0..=place.len())
            .rev()
            .find(|length| self.files.contains_key(&place[..*length]))?;
        let (holder, _) = self.files.get_key_value(&place[..stem])?;
        let handed_on = place.get(stem).and_then(|item| {
            let import = self.named[holder].import(item)?;
            (depth <= 8).then(|| self.home(holder, &import.path, depth + 1))?
        });
        let told = handed_on.unwrap_or(holder);
        (!told.is_empty()).then_some(told)
    }

    /// The sets of files in which each reaches each, by their paths.
    pub fn circles(&self) -> Vec<Vec<&str>> {
        let arrows = self.arrows();
        let reached: BTreeMap<&Module, BTreeSet<&Module>> = arrows
            .keys()
            .map(|from| (*from, reach(&arrows, from)))
            .collect();
        let mut circles: Vec<Vec<&str>> = arrows
            .keys()
            .filter(|module| reached[*module].contains(*module))
            .map(|module| {
                let mut circle: Vec<&str> = reached[module]
                    .iter()
                    .filter(|other| reached[*other].contains(module))
                    .map(|other| self.files[*other].path.as_str())
                    .collect();
                circle.sort_unstable();
                circle
            })
            .collect();
        circles.sort();
        circles.dedup();
        circles
    }
}

impl Named {
    fn import(&self, name: &str) -> Option<&Import> {
        self.imports.iter().find(|import| {
            let own = import.alias.as_ref().or(import.path.last());
            own.is_some_and(|own| own == name)
        })
    }
}

fn join(stem: &[String], rest: &[String]) -> Module {
    stem.iter().chain(rest).cloned().collect()
}

fn reach<'m>(
    arrows: &BTreeMap<&'m Module, BTreeSet<&'m Module>>,
    from: &Module,
) -> BTreeSet<&'m Module> {
    let (mut reached, mut waiting) = (BTreeSet::new(), vec![from]);
    while let Some(module) = waiting.pop() {
        for next in &arrows[module] {
            if reached.insert(*next) {
                waiting.push(next);
            }
        }
    }
    reached
}
