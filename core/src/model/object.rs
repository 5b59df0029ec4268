//! All objects of a plan, in one table a kind, and the list of kinds that everything else is written from.

use std::sync::Arc;

use super::{
    Bed, Crossing, Device, Emission, Feature, Line, Mark, Meta, Outlet, Pipe, Sign, SpotHeight,
    Supply, Table, Tree, ValveBox, Water, Zone,
};
use crate::ids::{Id, Kind};

/// Writes the table struct, the one-of-any enum and the accessors from one list of kinds, so that a new kind is a line.
macro_rules! object_kinds {
    ($($(#[$doc:meta])* $field:ident: $Variant:ident($Type:ty) = $Kind:ident),* $(,)?) => {
        /// The objects of a plan, by kind and id.
        #[derive(Clone, PartialEq, Debug, Default, serde::Serialize, serde::Deserialize)]
        pub struct Objects {
            $(
                $(#[$doc])*
                #[serde(default, skip_serializing_if = "Table::is_empty", deserialize_with = "super::plan::table")]
                pub $field: Table<$Type>,
            )*
            /// Kinds this version does not know.
            #[serde(flatten)]
            pub extra: super::Extra,
        }

        /// Any one object.
        #[derive(Clone, PartialEq, Debug)]
        pub enum Object {
            $($(#[$doc])* $Variant(Arc<$Type>),)*
        }

        impl Object {
            /// The kind of id it carries.
            #[must_use]
            pub const fn kind(&self) -> Kind {
                match self { $(Self::$Variant(_) => Kind::$Kind,)* }
            }

            /// Label, state and phase.
            #[must_use]
            pub fn meta(&self) -> &Meta {
                match self { $(Self::$Variant(object) => &object.meta,)* }
            }

            /// Label, state and phase, to change.
            pub fn meta_mut(&mut self) -> &mut Meta {
                match self { $(Self::$Variant(object) => &mut Arc::make_mut(object).meta,)* }
            }
        }

        impl Objects {
            /// The object of that name.
            #[must_use]
            pub fn get(&self, id: Id) -> Option<Object> {
                match id.kind {
                    $(Kind::$Kind => self.$field.get(&id).cloned().map(Object::$Variant),)*
                    Kind::Note => None,
                }
            }

            /// Whether there is an object of that name.
            #[must_use]
            pub fn contains(&self, id: Id) -> bool {
                match id.kind {
                    $(Kind::$Kind => self.$field.contains_key(&id),)*
                    Kind::Note => false,
                }
            }

            /// Puts an object under a name, in place of what was there. The kind of the name must be the object's;
            /// otherwise nothing happens and the answer is false.
            pub fn put(&mut self, id: Id, object: Object) -> bool {
                if id.kind != object.kind() {
                    return false;
                }
                match object { $(Object::$Variant(object) => { self.$field.insert(id, object); })* }
                true
            }

            /// Takes an object out.
            pub fn remove(&mut self, id: Id) -> Option<Object> {
                match id.kind {
                    $(Kind::$Kind => self.$field.remove(&id).map(Object::$Variant),)*
                    Kind::Note => None,
                }
            }

            /// All names, sorted.
            #[must_use]
            pub fn ids(&self) -> Vec<Id> {
                let mut ids: Vec<Id> = Vec::new();
                $(ids.extend(self.$field.keys());)*
                ids.sort_unstable();
                ids
            }

            /// Names that stand in the table of another kind.
            #[must_use]
            pub fn misplaced(&self) -> Vec<(&'static str, Id)> {
                let mut found = Vec::new();
                $(found.extend(self.$field.keys().filter(|id| id.kind != Kind::$Kind).map(|id| (stringify!($field), *id)));)*
                found
            }

            /// How many objects there are.
            #[must_use]
            pub fn len(&self) -> usize {
                0 $(+ self.$field.len())*
            }

            /// Whether nothing is drawn.
            #[must_use]
            pub fn is_empty(&self) -> bool {
                self.len() == 0
            }

            /// Names of objects that differ between two plans: added, removed or changed. Unchanged objects are told by
            /// their pointer first.
            #[must_use]
            pub fn differences(&self, other: &Self) -> Vec<Id> {
                let mut found = Vec::new();
                $(
                    for (id, object) in &self.$field {
                        let same = other.$field.get(id).is_some_and(|known| Arc::ptr_eq(known, object) || known == object);
                        if !same { found.push(*id); }
                    }
                    found.extend(other.$field.keys().filter(|id| !self.$field.contains_key(id)));
                )*
                found.sort_unstable();
                found
            }
        }
    };
}

object_kinds! {
    /// Planted areas.
    beds: Bed(Bed) = Bed,
    /// Marked crossings.
    crossings: Crossing(Crossing) = Crossing,
    /// Devices.
    devices: Device(Device) = Device,
    /// Single emission devices.
    emissions: Emission(Emission) = Emission,
    /// Areas that are not planted.
    features: Feature(Feature) = Feature,
    /// Signs.
    signs: Sign(Sign) = Sign,
    /// Spot heights.
    heights: Height(SpotHeight) = Height,
    /// Emitter lines drawn by hand.
    lines: Line(Line) = Line,
    /// Wells, entries, test points.
    marks: Mark(Mark) = Mark,
    /// Outlets.
    outlets: Outlet(Outlet) = Outlet,
    /// Pipe runs.
    pipes: Pipe(Pipe) = Pipe,
    /// Supplies.
    supplies: Supply(Supply) = Supply,
    /// Trees and single plants.
    trees: Tree(Tree) = Tree,
    /// Valve boxes.
    boxes: Box(ValveBox) = Box,
    /// Waters.
    waters: Water(Water) = Water,
    /// Zones.
    zones: Zone(Zone) = Zone,
}
