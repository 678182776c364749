#pragma once
/// What the sections of a handover share: words of cells, and runs of a gas with their values.
/// Private to desk.
#include <optional>
#include <string>
#include <vector>

#include "desk/handover_facts.hpp"

namespace gw::desk {

inline report::Paragraph soft(std::string text) { return {std::move(text), false, true}; }
inline report::Cell plain(std::string text) { return {std::move(text), {}, false}; }
/// A table of names and what they are, without titles.
inline report::Table pairs() {
    report::Table out;
    out.columns = {{"", 1, report::Align::left}, {"", 3.2, report::Align::left}};
    return out;
}
/// With its sign; a nothing has none.
std::string signed_fixed(double value, int decimals);

/// The runs of one gas and stream in a state that was judged; none when it was not.
std::vector<visit::ValuedRun const*> runs_of(JudgedState const* state,
                                             std::string const& gas,
                                             std::string const& stream);
/// The streams of line gas that were run in either state, in order.
std::vector<std::string> streams_of(HandoverFacts const& facts);
/// Normalised amount, mol/mol.
std::optional<double> amount(visit::ValuedRun const& run, gas::Component component);

/// One number of each run that has it.
template <class Value>
std::vector<double> each(std::vector<visit::ValuedRun const*> const& runs, Value const& value) {
    std::vector<double> out;
    for (auto const* run : runs)
        if (std::optional<double> const v = value(*run)) out.push_back(*v);
    return out;
}

}  // namespace gw::desk
