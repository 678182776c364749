#pragma once
/// --store FILE, --by WHO and --at TIME, the same wherever a record is used.
#include <memory>
#include <string>

#include "app/context.hpp"
#include "desk/store.hpp"
#include "visit/visit_acts.hpp"

namespace CLI {
class App;
}

namespace gw::app {

struct StoreArgs {
    std::string file, by, at;
    bool json = false;
};

void add_store_option(CLI::App& command, StoreArgs& args);
/// The same with who and when.
void add_record_options(CLI::App& command, StoreArgs& args);

/// The file that is meant: the option, else the user's own place.
std::string store_path(StoreArgs const& args);
Result<std::unique_ptr<store::Store>> opened_store(StoreArgs const& args,
                                                   Context const& context,
                                                   bool create);
/// --by, else the name of the user of this machine.
Result<visit::Act> act_of(StoreArgs const& args, Context const& context);

}  // namespace gw::app
