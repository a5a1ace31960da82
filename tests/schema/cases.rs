//! Files made from the schemas: one that has what each table requires, and copies of it that differ in one thing.

use serde_json::Value as Json;
use toml::{Table, Value};

/// A file that is read and validated.
pub(crate) struct Case {
    /// What differs, for messages.
    pub(crate) about: String,
    pub(crate) kind: String,
    pub(crate) text: String,
    pub(crate) expected: Expected,
    /// The text of another machine, which the case is like.
    pub(crate) base: Option<String>,
}

/// What reader and validator have to say.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Expected {
    /// That nothing is wrong with how the file is written.
    Nothing,
    /// That there is an unknown key, and nothing else but that a required one may be missing.
    Unknown,
    /// That an id is ill-formed.
    Id,
    /// That a key is missing.
    Missing,
    /// That a text is none of the words that there are.
    Word,
    /// The reader that no step can perform an action exactly if the validator rejects it.
    Action,
    /// The same, whatever it is.
    Same,
    /// The reader that the type is wrong, and the validator perhaps nothing: for JSON it is another value.
    Different,
}

/// A kind of table of a schema: where its schema is, and where such a table is in the file.
struct Level<'s> {
    path: Vec<String>,
    schema: &'s Json,
}

/// The pattern of ids.
const ID: &str = "^[a-z0-9]+(-[a-z0-9]+)*$";

/// Ids at the limits of what an id can be.
const GOOD_IDS: [&str; 4] = ["a", "7", "10-mm", "a1-2b-c"];

/// All cases of a kind of file. `verbs` are those of actions.
pub(crate) fn cases(kind: &str, schema: &Json, verbs: &[&str]) -> Vec<Case> {
    let mut levels = Vec::new();
    find_levels(schema, Vec::new(), &mut levels);
    let mut base = Table::new();
    for level in &levels {
        let required = level.schema["required"].as_array();
        for key in required.into_iter().flatten() {
            let key = key.as_str().unwrap();
            set(&mut base, &level.path, key, good(&properties(level)[key]));
        }
        // Required for all kinds of energy but heat, which the schema does not say.
        if level.path.first().is_some_and(|table| table == "energy") {
            set(&mut base, &level.path, "restore", "restore it".into());
        }
        // Required for all readings but levels. The table of a calculation in a reading is another one.
        if level.path.len() == 2 && level.path[0] == "reading" {
            set(&mut base, &level.path, "limits", "1 mm to 2 mm".into());
        }
        table_at(&mut base, &level.path);
    }
    let mut cases = Cases {
        kind,
        base,
        made: Vec::new(),
    };
    cases.add("nothing", Expected::Nothing, |_| {});
    if kind == "machine" {
        cases.variant(&levels);
    }
    for level in &levels {
        cases.keys(level);
        for (index, (key, field)) in properties(level).iter().enumerate() {
            cases.right_values(level, key, field);
            cases.misspelt(level, key, field);
            // All fields of these tables have the same schema.
            if index == 0 || !is_list_of_words(level) {
                cases.field(level, key, field);
                cases.names(level, key, field, verbs);
            }
        }
    }
    cases.made
}

/// The tables of a schema: each has keys that are known.
fn find_levels<'s>(schema: &'s Json, path: Vec<String>, levels: &mut Vec<Level<'s>>) {
    if let Some(records) = schema["patternProperties"].as_object() {
        for record in records.values() {
            let id = format!("a-{}", path.last().unwrap());
            find_levels(record, [path.clone(), vec![id]].concat(), levels);
        }
        return;
    }
    let Some(properties) = schema["properties"].as_object() else {
        return;
    };
    for (key, field) in properties {
        find_levels(field, [path.clone(), vec![key.clone()]].concat(), levels);
    }
    levels.push(Level { path, schema });
}

fn properties<'s>(level: &Level<'s>) -> &'s serde_json::Map<String, Json> {
    level.schema["properties"].as_object().unwrap()
}

/// Whether the keys of a table are the words of some list, and not fields that are described one by one.
fn is_list_of_words(level: &Level<'_>) -> bool {
    matches!(
        level.path.last().map(String::as_str),
        Some("levels" | "units")
    )
}

/// The table at a path, which is made if it is missing.
fn table_at<'t>(top: &'t mut Table, path: &[String]) -> &'t mut Table {
    path.iter().fold(top, |table, key| {
        let entry = table
            .entry(key.clone())
            .or_insert_with(|| Value::Table(Table::new()));
        entry.as_table_mut().unwrap()
    })
}

fn set(top: &mut Table, path: &[String], key: &str, value: Value) {
    table_at(top, path).insert(key.to_owned(), value);
}

/// A value that a field takes, by its schema.
fn good(field: &Json) -> Value {
    all_good(field).remove(0)
}

/// Values that a field takes, by its schema: its examples, or its words, each also as a list where the field takes one.
fn all_good(field: &Json) -> Vec<Value> {
    let words = |schema: &Json| schema["enum"].as_array().cloned();
    let choices = field["anyOf"].as_array();
    if let Some(words) = choices.and_then(|choices| words(&choices[0])) {
        let single = words.iter().map(value);
        let list = Value::Array(words.iter().map(value).collect());
        return single.chain([list]).collect();
    }
    if let Some(words) = words(field) {
        return words.iter().map(value).collect();
    }
    let examples = field["examples"].as_array().cloned().unwrap_or_default();
    let mut values: Vec<Value> = examples.iter().map(value).collect();
    if field["format"] == "date" {
        values = values
            .iter()
            .map(|day| Value::Datetime(day.as_str().unwrap().parse().unwrap()))
            .collect();
    }
    let types = &field["type"];
    if types.is_array() {
        let items = values.iter().filter_map(Value::as_array).flatten();
        let singles: Vec<Value> = items.cloned().collect();
        values.extend(singles);
    }
    if values.is_empty() {
        values.push(match types.as_str() {
            Some("boolean") => Value::Boolean(true),
            Some("object") => Value::Table(Table::new()),
            // The level of a rule.
            Some("string") if field["pattern"].is_string() => "off: some text".into(),
            Some("string") => "some text".into(),
            _ => Value::Array(vec!["some text".into()]),
        });
    }
    values
}

/// A JSON value as TOML.
fn value(json: &Json) -> Value {
    Value::try_from(json).unwrap()
}

struct Cases<'k> {
    kind: &'k str,
    base: Table,
    made: Vec<Case>,
}

impl Cases<'_> {
    fn add(&mut self, about: &str, expected: Expected, change: impl FnOnce(&mut Table)) {
        let mut file = self.base.clone();
        change(&mut file);
        let toml = toml::to_string(&file).unwrap();
        let text = if matches!(self.kind, "procedure" | "fault") {
            format!("+++\n{toml}+++\n\n## Look\n\n1. Look.\n")
        } else {
            toml
        };
        self.made.push(Case {
            about: format!("{}: {about}", self.kind),
            kind: self.kind.to_owned(),
            text,
            expected,
            base: None,
        });
    }

    /// A machine that takes over everything, although each of its tables lacks what is required.
    fn variant(&mut self, levels: &[Level<'_>]) {
        let base = toml::to_string(&self.base).unwrap();
        self.add("a variant", Expected::Nothing, |file| {
            file.retain(|key, _| key == "name");
            set(file, &[], "like", "a-base".into());
            for level in levels {
                table_at(file, &level.path);
            }
        });
        self.made.last_mut().unwrap().base = Some(base);
        self.add("a variant without a name", Expected::Missing, |file| {
            file.retain(|_, _| false);
            set(file, &[], "like", "a-base".into());
        });
        let base = self.made[self.made.len() - 2].base.clone();
        self.made.last_mut().unwrap().base = base;
    }

    /// Unknown and missing keys of a table.
    fn keys(&mut self, level: &Level<'_>) {
        let path = &level.path;
        let place = path.join(".");
        let unknown: Value = match level.path.last().map(String::as_str) {
            Some("units") => Value::Array(vec!["N·m".into()]),
            _ => "off: some text".into(),
        };
        let about = format!("an unknown key in `{place}`");
        self.add(&about, Expected::Unknown, |file| {
            set(file, path, "unheard-of", unknown);
        });
        // A key of another table of the same file.
        if !is_list_of_words(level) && !properties(level).contains_key("part") {
            let about = format!("a table in `{place}`");
            self.add(&about, Expected::Same, |file| {
                set(file, path, "part", Value::Table(Table::new()));
            });
        }
        for key in level.schema["required"].as_array().into_iter().flatten() {
            let key = key.as_str().unwrap();
            let about = format!("no `{key}` in `{place}`");
            self.add(&about, Expected::Missing, |file| {
                table_at(file, path).remove(key);
            });
        }
    }

    /// Values that a field takes.
    fn right_values(&mut self, level: &Level<'_>, key: &str, field: &Json) {
        if field["type"] == "object" {
            return;
        }
        let path = &level.path;
        for good in all_good(field) {
            // A control has more than one position, and a level two marks.
            if ["positions", "marks"].contains(&key) && good.is_str() {
                continue;
            }
            let about = format!("`{}.{key} = {good}`", path.join("."));
            self.add(&about, Expected::Nothing, |file| {
                set(file, path, key, good);
            });
        }
    }

    /// Ids and actions in fields that take them. The things need not exist for how the file is written.
    fn names(&mut self, level: &Level<'_>, key: &str, field: &Json, verbs: &[&str]) {
        let pattern = field["pattern"].as_str().unwrap_or_default();
        let mut names: Vec<(String, Expected)> = Vec::new();
        if pattern == ID {
            names.extend(GOOD_IDS.map(|id| (id.to_owned(), Expected::Nothing)));
        } else if pattern.contains("remove") {
            let actions = verbs
                .iter()
                .map(|verb| (format!("{verb}:10-mm"), Expected::Action));
            names.extend(actions);
        }
        let path = &level.path;
        for (name, expected) in names {
            let about = format!("`{}.{key} = {name}`", path.join("."));
            self.add(&about, expected, |file| {
                set(file, path, key, name.into());
            });
        }
    }

    fn misspelt(&mut self, level: &Level<'_>, key: &str, field: &Json) {
        let path = &level.path;
        let spellings = if is_list_of_words(level) { 1 } else { 3 };
        for misspelt in misspelt(key).into_iter().take(spellings) {
            let place = path.join(".");
            let about = format!("`{key}` in `{place}` misspelt as `{misspelt}`");
            self.add(&about, Expected::Unknown, |file| {
                let table = table_at(file, path);
                let value = table.remove(key).unwrap_or_else(|| good(field));
                table.insert(misspelt, value);
            });
        }
    }

    /// Values of all types, and what a field of its kind can't hold.
    fn field(&mut self, level: &Level<'_>, key: &str, field: &Json) {
        let path = &level.path;
        let place = [path.clone(), vec![key.to_owned()]].concat().join(".");
        let is_table = field["type"] == "object";
        if field["patternProperties"].is_object() {
            for id in GOOD_IDS {
                let about = format!("an id `{id}` in `{place}`");
                self.add(&about, Expected::Nothing, |file| {
                    let table = table_at(file, &[path.clone(), vec![key.to_owned()]].concat());
                    let record = table.values().next().unwrap().clone();
                    table.insert(id.to_owned(), record);
                });
            }
            for id in [
                "Bad", "bad id", "bad_id", "-bad", "bad-", "bad--id", "bäd", "",
            ] {
                let about = format!("an id `{id}` in `{place}`");
                self.add(&about, Expected::Id, |file| {
                    let table = table_at(file, &[path.clone(), vec![key.to_owned()]].concat());
                    let record = table.values().next().unwrap().clone();
                    table.insert(id.to_owned(), record);
                });
            }
        }
        let inner = field["properties"].as_object();
        let inner = inner.and_then(|inner| inner.keys().next());
        for value in values(inner.map_or("a", String::as_str)) {
            let about = format!("`{place} = {value}`");
            // A date is a text for validators.
            let is_text = !is_table && good(field).is_str() || field["type"].is_array();
            let expected = if value.is_datetime() && is_text {
                Expected::Different
            } else {
                Expected::Same
            };
            self.add(&about, expected, |file| {
                set(file, path, key, value);
            });
        }
        if field["enum"].is_array() || field["anyOf"].is_array() {
            let about = format!("a wrong word in `{place}`");
            self.add(&about, Expected::Word, |file| {
                set(file, path, key, "unheard-of".into());
            });
        }
        // DIFFERENCE: a whole number may be written as a decimal, and a date as a text, only in JSON.
        if field["type"] == "integer" {
            let about = format!("`{place} = 2.0`");
            self.add(&about, Expected::Different, |file| {
                set(file, path, key, Value::Float(2.0));
            });
        }
        if field["format"] == "date" {
            let about = format!("`{place} = \"2026-03-14\"`");
            self.add(&about, Expected::Different, |file| {
                set(file, path, key, "2026-03-14".into());
            });
        }
    }
}

/// Spellings that are near a key, and one in capitals.
fn misspelt(key: &str) -> [String; 3] {
    [
        format!("{key}x"),
        key[1..].to_owned() + "q",
        key.to_uppercase(),
    ]
}

/// Values of every type. `key` is a key of tables.
fn values(key: &str) -> Vec<Value> {
    let mut values = vec![
        Value::String(String::new()),
        Value::Integer(1),
        Value::Integer(0),
        Value::Integer(-1),
        Value::Integer(1_000_000),
        Value::Integer(1_000_001),
        Value::Float(1.5),
        Value::Float(-1.5),
        Value::Boolean(true),
        Value::Datetime("2026-03-14".parse().unwrap()),
        Value::Datetime("10:15:00".parse().unwrap()),
        Value::Datetime("2026-03-14T10:15:00".parse().unwrap()),
        Value::Table(Table::new()),
    ];
    let items: Vec<Vec<Value>> = vec![
        vec![],
        vec![1.into()],
        vec![0.5.into()],
        vec![Value::Integer(-1)],
        vec![true.into()],
        vec!["".into()],
        vec!["some-text".into()],
        vec!["some-text".into(), 1.into()],
        vec![Value::Array(vec!["some-text".into()])],
        vec![Value::Table(Table::new())],
    ];
    values.extend(items.into_iter().map(Value::Array));
    let in_table = [
        1.into(),
        "some text".into(),
        Value::Array(vec!["N·m".into()]),
    ];
    for value in in_table {
        values.push(Value::Table(Table::from_iter([(key.to_owned(), value)])));
    }
    values
}
