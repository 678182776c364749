#pragma once
/// The workshop sums as the page asks for them: the list with every field and unit, and one sum
/// from inputs that came as data. No file is read: a gas is a component's name or a composition.
#include <string>

#include "base/json.hpp"
#include "bench/sum.hpp"

namespace gw::desk {

/// {"sums": [{"name", "title", "formula", "source", "caution", "fields": [...]}], "units":
/// [{"name", "dimension", "factor", "offset", "gauge"}]}: SI = factor x value + offset.
Json sums_json();

/// The sum of that name: those of `bench`, and "misstatement" for a steady flow.
bench::SumKind const* find_page_sum(std::string_view name);

/// The answer of `bench NAME --json` for the same inputs. An error's `where` is the field alone, as
/// "p1" or "streams[0].flow". show: {"KEY": "UNIT"}, or null.
Result<Json> page_sum(std::string const& name, Json const& inputs, Json const& show);

/// What is kept of a sum as evidence: the file of its inputs as `bench NAME FILE` takes them, so
/// that anybody can work it out again, and its answer in one sentence. Refuses inputs of which
/// nothing can be worked out.
struct KeptSum {
    std::string file, says;
};
Result<KeptSum> kept_sum(std::string const& name, Json const& inputs, Json const& show);

}  // namespace gw::desk
