#pragma once
/// Every command of the program, one file each under commands/; this list is the whole of it.
#include "app/context.hpp"

namespace CLI {
class App;
}

namespace gw::app {

void add_look(CLI::App& program, Context& context);
void add_gas(CLI::App& program, Context& context);
void add_trace(CLI::App& program, Context& context);
/// The commands of `trace pack`, within those of `trace`.
void add_trace_pack(CLI::App& trace, Context& context);
void add_assay(CLI::App& program, Context& context);
/// `assay replay`, within the commands of `assay`.
void add_assay_replay(CLI::App& assay, Context& context);
void add_oven(CLI::App& program, Context& context);
void add_cylinder(CLI::App& program, Context& context);
void add_prove(CLI::App& program, Context& context);
void add_settle(CLI::App& program, Context& context);
void add_chart(CLI::App& program, Context& context);
void add_bench(CLI::App& program, Context& context);
void add_visit(CLI::App& program, Context& context);
/// `sign`, `export`, `import`, `verify` and `report`, within the commands of `visit`.
void add_visit_handover(CLI::App& visit, Context& context);
void add_key(CLI::App& program, Context& context);
void add_store(CLI::App& program, Context& context);
void add_thing(CLI::App& program, Context& context);
void add_cylinder_record(CLI::App& cylinder, Context& context);  ///< below `cylinder`
void add_demo(CLI::App& program, Context& context);
void add_serve(CLI::App& program, Context& context);

inline void add_commands(CLI::App& program, Context& context) {
    add_look(program, context);
    add_gas(program, context);
    add_trace(program, context);
    add_assay(program, context);
    add_oven(program, context);
    add_cylinder(program, context);
    add_prove(program, context);
    add_settle(program, context);
    add_chart(program, context);
    add_bench(program, context);
    add_visit(program, context);
    add_key(program, context);
    add_store(program, context);
    add_thing(program, context);
    add_demo(program, context);
    add_serve(program, context);
}

}  // namespace gw::app
