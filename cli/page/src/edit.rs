//! One number of a case file changed in its text: what stands around it stays.

use quenchway::names::key_path::KeyPath;
use quenchway_words::clean;
use toml_edit::{DocumentMut, Item, Table, TableLike, Value};

/// Puts a value where a key path leads. A key that is there gets it and keeps what stands around it; one that is not is added at
/// the end of its table.
///
/// Over it stands a comment of `mark` and `comment`, in place of one that begins with `mark`; none inside of a line.
///
/// # Errors
///
/// A number that is a table or a curve in the file, or belongs to no table of it: why, and what to do.
pub fn put(document: &mut DocumentMut, path: &KeyPath, value: Value, [mark, comment]: [&str; 2]) -> Result<(), String> {
    let table = find(document, path)?;
    if let Some(layer) = &path.of {
        let limits = table.get_mut(&path.key).and_then(Item::as_table_like_mut);
        return set(limits.ok_or_else(|| format!("the file has no {} there", path.key))?, layer, value);
    }
    set(table, &path.key, value)?;
    if let Some(mut key) = table.key_mut(&path.key) {
        let decor = key.leaf_decor_mut();
        let before = decor.prefix().and_then(|prefix| prefix.as_str()).unwrap_or_default();
        let (above, indent) = match before.rfind('\n') {
            Some(end) => before.split_at(end + 1),
            None => ("", before),
        };
        // What was said of an earlier value no longer holds.
        let kept: String = above.split_inclusive('\n').filter(|line| !line.trim_start().starts_with(mark)).collect();
        let comment = format!("{kept}{indent}{mark} {}\n{indent}", clean(comment));
        decor.set_prefix(comment);
    }
    Ok(())
}

fn set(table: &mut dyn TableLike, key: &str, mut value: Value) -> Result<(), String> {
    match table.get_mut(key) {
        None => {
            table.insert(key, Item::Value(value));
        }
        Some(item) => match item.as_value() {
            Some(old) if old.is_str() || old.is_integer() || old.is_float() => {
                *value.decor_mut() = old.decor().clone();
                *item = Item::Value(value);
            }
            _ => return Err("it is a table or a list there; change its values by hand".to_string()),
        },
    }
    Ok(())
}

/// The table that a key path names.
fn find<'a>(document: &'a mut DocumentMut, path: &KeyPath) -> Result<&'a mut Table, String> {
    let item = document.get_mut(&path.table);
    match (&path.name, item) {
        (None, Some(Item::Table(table))) => Ok(table),
        (Some(name), Some(Item::Table(tables))) => match tables.get_mut(name) {
            Some(Item::Table(table)) => Ok(table),
            _ => Err(format!("the file has no table [{}.{name}]", path.table)),
        },
        (Some(name), Some(Item::ArrayOfTables(tables))) => {
            let named = |table: &&mut Table| table.get("name").and_then(Item::as_str) == Some(name.as_str());
            tables.iter_mut().find(named).ok_or_else(|| format!("the file has no [[{}]] of that name", path.table))
        }
        (_, Some(_)) => Err(format!("{} is written in one line there; write it as [[{0}]], or by hand", path.table)),
        (_, None) if path.table == "material" => {
            Err("the material is one of the library; fit the layer's conductivity_factor or heat_capacity_factor"
                .to_string())
        }
        (_, None) => Err(format!("the file has no table {}", path.table)),
    }
}
