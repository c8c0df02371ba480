//! Desks at a rig that exists in numbers only: a technician who does what a procedure says, and a student.

mod student;
mod technician;

pub(crate) use student::Student;
pub(crate) use technician::Technician;
