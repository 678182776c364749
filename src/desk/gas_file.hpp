#pragma once
/// A composition file as the `gas` commands take it: total checked, C6+ split.
#include <string>
#include <vector>

#include "gas/composition.hpp"

namespace gw::desk {

struct GasFile {
    std::string source;
    gas::Composition gas;  ///< C6+ replaced by its parts
    gas::TotalReport total;
    std::string split;                  ///< how C6+ was split, for people; "" when there is none
    std::vector<std::string> warnings;  ///< normalised; split not stated
};
/// `path` "-": standard input. C6+ is split by the file's own characterisation, else by the usual
/// one with a warning.
Result<GasFile> read_gas_file(std::string const& path, bool normalise);

/// An error of a sum, which knows only "composition", placed in the file.
Error placed_in(GasFile const& file, Error error);

}  // namespace gw::desk
