#include "desk/examples.hpp"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "desk/demo_scenario.hpp"
#include "example_files.hpp"
#include "trace/trace_file.hpp"

namespace gw::desk {

std::vector<Example> const& examples() {
    static std::vector<Example> const all = {
        {"printed_report.csv", "report", "A printed calibration report with wrong entries"},
        {"calibration_gas.json", "cylinder", "The certificate of the gas that was run"},
        {"method.json", "method", "The method of the analyser, with its twin"},
        {"line_gas.json", "gas", "The gas of stream 1"},
        {"line_gas_as_found.csv", "trace", "Line gas on the old oven module"},
        {"line_gas_as_left.csv", "trace", "Line gas on the new oven module"},
        {"weekly_checks.csv", "series", "Two years of weekly checks"},
    };
    return all;
}

Result<std::string> example_text(std::string const& name) {
    for (auto const& file : generated::example_files)
        if (file.path.substr(file.path.rfind('/') + 1) == name) return std::string(file.text);
    GW_TRY(auto const scenario, demo_scenario());
    for (auto const& [file, text] : scenario.files)
        if (file == name && file != "scenario.json") return text;
    constexpr auto line_gas = "line 1";
    if (name == "line_gas.json") {
        auto json = gas::composition_json(scenario.gases.at(line_gas));
        return to_text(json);
    }
    for (auto const& [file, module] :
         {std::pair("line_gas_as_found.csv", "old"), std::pair("line_gas_as_left.csv", "new")})
        if (name == file) {
            auto trace = scenario.run(module, line_gas, 1);
            trace.header["gas"] = "invented";
            return trace::trace_csv(trace);
        }
    return fail(Errc::not_found,
                fmt::format("There is no example \"{}\".", name.substr(0, 60)),
                "name",
                "take one that the list names");
}

}  // namespace gw::desk
