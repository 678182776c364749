#pragma once
/// Files become values: one loader for each kind, so that every command reads it the same way.
#include <string>

#include "assay/cylinder.hpp"
#include "metrology/criteria.hpp"

namespace gw::desk {

/// A `cylinder` file with its hash.
Result<assay::Cylinder> load_cylinder(std::string const& path);

/// A shipped criteria set by name, else a `criteria` file. `from`: the file that names it (its path
/// is then relative to that file); empty for the command line.
Result<metrology::CriteriaSet> load_criteria(std::string const& name_or_path,
                                             std::string const& from = {});

}  // namespace gw::desk
