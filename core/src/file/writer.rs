//! Canonical JSON: an object's members each on a line, lists on one line, so that a point or an outline is one line of a
//! diff.

use std::io::{self, Write};

use serde::Serialize;
use serde_json::ser::Formatter;

/// The canonical text of a value, without a final line break.
pub(crate) fn pretty(value: &impl Serialize) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut sink = serde_json::Serializer::with_formatter(&mut bytes, Layout::default());
    // Plan data cannot fail to serialise into memory: its keys are text and its numbers finite.
    let _ = value.serialize(&mut sink);
    bytes
}

#[derive(Default)]
struct Layout {
    depth: usize,
    has_members: bool,
}

impl Layout {
    fn new_line<W: ?Sized + Write>(&self, writer: &mut W) -> io::Result<()> {
        writer.write_all(b"\n")?;
        (0..self.depth).try_for_each(|_| writer.write_all(b"  "))
    }
}

impl Formatter for Layout {
    fn begin_array_value<W: ?Sized + Write>(
        &mut self,
        writer: &mut W,
        first: bool,
    ) -> io::Result<()> {
        if first {
            Ok(())
        } else {
            writer.write_all(b", ")
        }
    }

    fn begin_object<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.depth += 1;
        self.has_members = false;
        writer.write_all(b"{")
    }

    fn end_object<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.depth -= 1;
        if self.has_members {
            self.new_line(writer)?;
        }
        self.has_members = true;
        writer.write_all(b"}")
    }

    fn begin_object_key<W: ?Sized + Write>(
        &mut self,
        writer: &mut W,
        first: bool,
    ) -> io::Result<()> {
        if !first {
            writer.write_all(b",")?;
        }
        self.new_line(writer)
    }

    fn begin_object_value<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        writer.write_all(b": ")
    }

    fn end_object_value<W: ?Sized + Write>(&mut self, _: &mut W) -> io::Result<()> {
        self.has_members = true;
        Ok(())
    }
}
