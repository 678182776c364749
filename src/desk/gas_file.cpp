#include "desk/gas_file.hpp"

#include <fmt/format.h>

#include "base/file.hpp"

namespace gw::desk {

Result<GasFile> read_gas_file(std::string const& path, bool normalise) {
    GasFile out;
    out.source = path == "-" ? std::string("standard input") : path;
    GW_TRY(auto const bytes, read_file(path));
    GW_TRY(auto const document, parse_json(bytes, out.source));
    GW_TRY(auto gas, gas::read_composition(document.root()));
    GW_TRY(auto const checked,
           gas::with_checked_total(
               std::move(gas), {.normalise = normalise}, out.source + ":components"));
    auto const& given = checked.first;
    out.total = checked.second;
    if (out.total.normalised)
        out.warnings.push_back(fmt::format(
            "The amounts added up to {:.6f} mol/mol and were normalised.", out.total.total));
    auto const usual_split = gas::default_characterisation();
    if (given.fraction(gas::c6_plus) > 0)
        out.split =
            given.characterisation.parts.empty() ? usual_split.origin : "as the file states";
    if (given.fraction(gas::c6_plus) > 0 && given.characterisation.parts.empty())
        out.warnings.push_back(fmt::format("The file does not say how C6+ is split: {} was taken.",
                                           usual_split.origin));
    out.gas = gas::expanded(given, usual_split);
    return out;
}

Error placed_in(GasFile const& file, Error error) {
    if (error.where == "composition") error.where = file.source + ":components";
    return error;
}

}  // namespace gw::desk
