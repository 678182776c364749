#pragma once
/// The use-case behind `gaswright gas properties`: a composition file in, its properties out.
#include <string>
#include <vector>

#include "base/json.hpp"
#include "base/result.hpp"
#include "gas/gas.hpp"

namespace gw::desk {

struct GasPropertiesOptions {
    gas::Reference reference = {};  ///< standard and conditions
    bool normalise = false;         ///< scale the amounts to one instead of refusing their total
};

struct GasProperties {
    gas::Reference reference;
    gas::TotalReport total;
    gas::Properties values;             ///< its warnings included below
    std::vector<std::string> warnings;  ///< one sentence each
};

/// Reads `path` ("-": standard input), checks the total, splits C6+ (by the file's own
/// characterisation, else by the usual one with a warning) and values the gas.
Result<GasProperties> gas_properties(std::string const& path,
                                     GasPropertiesOptions const& options = {});

/// The contract's JSON of `gas properties`.
Json gas_properties_json(GasProperties const& properties);
/// The same for people: reference conditions, then one line a quantity, ideal and real with u.
std::string gas_properties_text(GasProperties const& properties);

}  // namespace gw::desk
