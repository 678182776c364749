#pragma once
/// The demonstration's exchange visit as a record: what it would have written down for every step
/// of the plan "exchange", with times, people, instruments, runs and files. Invented throughout:
/// data/demo/visit_evidence.json says what, the scenario and the program's own engines give the
/// runs and files.
#include <memory>
#include <string>
#include <vector>

#include "desk/demo.hpp"
#include "desk/visit.hpp"

namespace gw::desk {

/// One thing to hand in, as add_to_visit takes it; its bytes are inside.
struct DemoAdd : VisitAdd {
    std::string by;
    Instant at;  ///< when it was so, on the invented day; a run says it of itself as well
};

class DemoRecord {
  public:
    /// Reads the table, generates the traces and works out the files. About a second.
    static Result<DemoRecord> make();

    /// What was recorded for a step of the plan, in order of time; not_found for a step that the
    /// demonstration recorded nothing for.
    [[nodiscard]] Result<std::vector<DemoAdd>> evidence(std::string const& step) const;
    /// Everything, in order of time.
    [[nodiscard]] std::vector<DemoAdd> const& all() const { return adds_; }
    [[nodiscard]] std::string const& notice() const { return demo_->scenario.notice; }

    /// Makes the things, opens the visit, records everything and ends it, each at its invented
    /// time and by its invented person. Answers the visit's id.
    [[nodiscard]] Result<std::string> record(store::Store& store) const;
    /// The things, and the visit with nothing recorded in it yet. Answers its id.
    [[nodiscard]] Result<std::string> open(store::Store& store) const;
    /// How and when the demonstration ended its visit, and who did.
    struct End {
        visit::EndRequest request;
        std::string by;
        Instant at;
    };
    [[nodiscard]] Result<End> end() const;
    /// The things alone: site, analyser with its needs, modules, cylinders, people, instruments.
    [[nodiscard]] Result<> record_things(store::Store& store) const;

  private:
    std::shared_ptr<Demo const> demo_;
    std::shared_ptr<Document const> table_;
    std::vector<DemoAdd> adds_;
};

/// The same in one breath; who asks more than once keeps a DemoRecord.
Result<std::vector<DemoAdd>> demo_evidence(std::string const& step);
Result<std::string> record_demo(store::Store& store);

}  // namespace gw::desk
