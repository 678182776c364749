#include "desk/replay_table.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>

#include "base/text.hpp"

namespace gw::desk {

namespace {

// One line a row, whatever a message holds: the place to go on from is found by counting lines.
std::string cell(std::string text) {
    for (char& c : text)
        if (static_cast<unsigned char>(c) < 32) c = ' ';
    if (text.find_first_of(",\"") == std::string::npos) return text;
    std::string out = "\"";
    for (char const c : text) {
        if (c == '"') out += '"';
        out += c;
    }
    return out + '"';
}

template <class Group>
void values(fmt::memory_buffer& out, Group const& g) {
    fmt::format_to(std::back_inserter(out),
                   ",{:.9g},{:.4g},{:.9g},{:.4g},{:.9g},{:.4g}",
                   g.gross_cv_volume.value,
                   g.gross_cv_volume.u,
                   g.gross_wobbe.value,
                   g.gross_wobbe.u,
                   g.density.value,
                   g.density.u);
}

}  // namespace

ReplayTable::ReplayTable(AssaySetup const& setup) : unit_(gas::cv_unit(setup.reference)) {
    for (auto const& p : setup.method.peaks) components_.push_back(p.component);
    for (auto const& [component, x] : setup.method.fixed) components_.push_back(component);
}

std::string ReplayTable::header() const {
    std::string out = "run,start,unnormalised_total";
    for (auto const c : components_) {
        std::string const name(gas::name(c));
        out += "," + cell("mole_percent:" + name) + "," + cell("u:" + name);
    }
    return out +
           ",gross_cv_volume,u:gross_cv_volume,gross_wobbe,u:gross_wobbe,density,u:density,"
           "warnings\n";
}

std::string ReplayTable::row(std::string const& run,
                             std::string const& start,
                             AssayedRun const& assayed) const {
    fmt::memory_buffer out;
    auto const to = std::back_inserter(out);
    fmt::format_to(
        to, "{},{},{:.8g}", cell(run), start, 100 * assayed.composition.unnormalised_total);
    auto const& gas = assayed.composition.gas;
    for (auto const c : components_) {
        auto const at = std::find(gas.components.begin(), gas.components.end(), c);
        if (at == gas.components.end()) {
            fmt::format_to(to, ",,");
            continue;
        }
        auto const i = static_cast<std::size_t>(at - gas.components.begin());
        fmt::format_to(
            to, ",{:.8g},{:.4g}", 100 * gas.x[i], 100 * std::sqrt(std::max(0.0, gas.V(i, i))));
    }
    std::visit([&](auto const& p) { values(out, p.real); }, assayed.properties.values);
    std::string notes;
    auto const note = [&](std::vector<std::string> const& more) {
        for (auto const& sentence : more) notes += (notes.empty() ? "" : " ") + sentence;
    };
    note(assayed.areas.warnings), note(assayed.composition.warnings);
    note(assayed.properties.warnings);
    fmt::format_to(to, ",{}\n", cell(std::move(notes)));
    return fmt::to_string(out);
}

std::string ReplayTable::failed_row(std::string const& run,
                                    std::string const& start,
                                    Error const& error) const {
    std::string out = cell(run) + "," + start + ",";
    out.append(2 * components_.size() + 6, ',');
    return out + "," + cell("failed: " + one_line(error)) + "\n";
}

}  // namespace gw::desk
