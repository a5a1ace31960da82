//! JSON objects whose members stay in the order in which they are written, so that a schema can be read from the top.

use serde::ser::{Serialize, SerializeMap as _, Serializer};
use std::borrow::Cow;

#[derive(Clone, Debug, Default)]
pub(super) struct Object {
    members: Vec<(Cow<'static, str>, Json)>,
}

#[derive(Clone, Debug)]
pub(super) enum Json {
    Plain(serde_json::Value),
    List(Vec<Json>),
    Object(Object),
}

impl Object {
    /// With one more member.
    pub(super) fn with(
        mut self,
        key: impl Into<Cow<'static, str>>,
        value: impl Into<Json>,
    ) -> Object {
        self.members.push((key.into(), value.into()));
        self
    }

    pub(super) fn is_empty(&self) -> bool {
        self.members.is_empty()
    }

    /// With the members of another object after its own.
    pub(super) fn and(mut self, other: Object) -> Object {
        self.members.extend(other.members);
        self
    }
}

impl From<Object> for Json {
    fn from(object: Object) -> Json {
        Json::Object(object)
    }
}

impl<const N: usize> From<[Object; N]> for Json {
    fn from(objects: [Object; N]) -> Json {
        Json::List(objects.into_iter().map(Json::Object).collect())
    }
}

macro_rules! plain {
    ($($plain:ty),+) => {
        $(impl From<$plain> for Json {
            fn from(value: $plain) -> Json {
                Json::Plain(value.into())
            }
        })+
    };
}

plain!(
    &str,
    String,
    bool,
    u32,
    usize,
    Vec<&str>,
    Vec<String>,
    Vec<serde_json::Value>
);

impl Serialize for Object {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(self.members.len()))?;
        for (key, value) in &self.members {
            map.serialize_entry(key, value)?;
        }
        map.end()
    }
}

impl Serialize for Json {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            Json::Plain(value) => value.serialize(serializer),
            Json::List(items) => items.serialize(serializer),
            Json::Object(object) => object.serialize(serializer),
        }
    }
}
