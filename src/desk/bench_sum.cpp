#include "desk/bench_sum.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "base/file.hpp"
#include "desk/gas_file.hpp"
#include "desk/load.hpp"

namespace gw::desk {

namespace {

Result<bench::Show> shown(std::vector<std::string> const& list) {
    bench::Show out;
    for (auto const& each : list) {
        auto const at = each.find('=');
        if (at == std::string::npos)
            return fail(Errc::bad_input,
                        fmt::format("\"{}\" names no unit.", each.substr(0, 40)),
                        "--show",
                        "write KEY=UNIT, as leak_rate=Pa m3/s");
        out[each.substr(0, at)] = each.substr(at + 1);
    }
    return out;
}

}  // namespace

Result<BenchAnswer> bench_sum(BenchRequest const& request) {
    auto const* kind = bench::find_sum(request.sum);
    if (kind == nullptr) return fail(Errc::not_found, "There is no such sum.", request.sum);
    std::vector<std::string> gas_warnings;
    std::filesystem::path from;
    auto const load = [&](std::string const& name,
                          std::string const& where) -> Result<gas::Composition> {
        // What stands in the file is relative to it; an option is not.
        bool const in_file = where.rfind("--", 0) != 0;
        auto const path =
            name == "-" || !in_file ? std::filesystem::path(name) : from.parent_path() / name;
        if (name != "-") {
            // A certificate is a composition too.
            GW_TRY(auto const bytes, read_file(path.string()));
            GW_TRY(auto const document, parse_json(bytes, path.string()));
            if (document.root().is_object() && document.root().find("certificate")) {
                GW_TRY(auto const cylinder, load_cylinder(path.string()));
                return gas::expanded(assay::certified_gas(cylinder),
                                     gas::default_characterisation());
            }
        }
        GW_TRY(auto file, read_gas_file(path.string(), true));
        gas_warnings.insert(gas_warnings.end(), file.warnings.begin(), file.warnings.end());
        return std::move(file.gas);
    };
    std::optional<Document> document;
    std::optional<Field> root;
    if (request.file) {
        if (*request.file != "-") from = *request.file;
        GW_TRY(auto const bytes, read_file(*request.file));
        GW_TRY(document, parse_json(bytes, *request.file));
        root = document->root();
    }
    GW_TRY(auto in, bench::read_sum_inputs(*kind, root, request.options, load));
    in.warnings.insert(in.warnings.end(), gas_warnings.begin(), gas_warnings.end());
    auto sum = bench::worked(*kind, in);
    if (!sum) {
        // A sum names its input; in a file that is a field.
        auto error = std::move(sum).error();
        if (root && error.where.rfind("--", 0) != 0) error.where = root->where() + error.where;
        if (!root && error.where.rfind("--", 0) != 0)
            error.where = fmt::format("--{}", error.where);
        if (!root) std::replace(error.where.begin(), error.where.end(), '_', '-');
        return pass_on(std::move(error));
    }
    GW_TRY(auto const show, shown(request.show));
    BenchAnswer out;
    GW_TRY(out.json, bench::sum_json(*kind, in, *sum, show));
    GW_TRY(out.text, bench::sum_text(*kind, in, *sum, show));
    out.warnings = in.warnings;
    out.warnings.insert(out.warnings.end(), sum->warnings.begin(), sum->warnings.end());
    out.favourable = bench::favourable(*sum);
    return out;
}

}  // namespace gw::desk
