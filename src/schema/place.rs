//! What can be at a place in a file, for completion and for help while an author types.

use super::FileKind;
use crate::record::{Description, Table, Value};
use crate::tree::SourceKind;

/// What a path of keys in a file leads to.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Place {
    /// A table whose keys are these fields, such as `part.cover`.
    Table(&'static Table),
    /// A table whose keys are ids of records of this kind, such as `part`.
    Ids(&'static Table),
    /// Any other field, such as `part.cover.torque`.
    Field(&'static Description),
}

impl FileKind {
    /// The kind of a source.
    #[must_use]
    pub(crate) fn of(source: &SourceKind) -> FileKind {
        match source {
            SourceKind::Shop => FileKind::Shop,
            SourceKind::Tools => FileKind::Tools,
            SourceKind::Supplies => FileKind::Supplies,
            SourceKind::Cautions => FileKind::Cautions,
            SourceKind::Glossary => FileKind::Glossary,
            SourceKind::Log => FileKind::Log,
            SourceKind::Machine { .. } => FileKind::Machine,
            SourceKind::Figure { .. } => FileKind::Figure,
            SourceKind::Procedure { .. } => FileKind::Procedure,
            SourceKind::Fault { .. } => FileKind::Fault,
        }
    }

    /// What a path of keys leads to: `["part", "cover", "torque"]`. `None` if there is nothing at this path.
    #[must_use]
    pub(crate) fn at(self, path: &[&str]) -> Option<Place> {
        let mut place = Place::Table(self.table());
        for key in path {
            place = match place {
                Place::Table(table) => {
                    let field = table.field(key)?;
                    match field.value {
                        Value::Table(table) => Place::Table(table),
                        Value::Tables(table) => Place::Ids(table),
                        _ => Place::Field(field),
                    }
                }
                Place::Ids(table) => Place::Table(table),
                Place::Field(_) => return None,
            };
        }
        Some(place)
    }
}

#[cfg(test)]
mod tests {
    use super::{FileKind, Place, SourceKind};

    #[test]
    fn a_path_leads_to_a_table_its_ids_or_a_field() {
        let machine = |path: &[&str]| match FileKind::Machine.at(path) {
            Some(Place::Table(table)) => format!("table {}", table.name),
            Some(Place::Ids(table)) => format!("ids of {}", table.name),
            Some(Place::Field(field)) => format!("field {}", field.key),
            None => "nothing".to_owned(),
        };
        assert_eq!(machine(&[]), "table machine");
        assert_eq!(machine(&["part"]), "ids of part");
        assert_eq!(machine(&["part", "cover"]), "table part");
        assert_eq!(machine(&["part", "cover", "torque"]), "field torque");
        assert_eq!(machine(&["part", "cover", "torqe"]), "nothing");
        assert_eq!(machine(&["part", "cover", "torque", "x"]), "nothing");
        assert_eq!(machine(&["run"]), "table run");
        assert_eq!(machine(&["run", "start"]), "field start");
        let id = "hand-pump".to_owned();
        assert_eq!(FileKind::of(&SourceKind::Machine { id }), FileKind::Machine);
    }
}
