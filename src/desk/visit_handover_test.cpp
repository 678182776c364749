#include "desk/visit_handover.hpp"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "base/base.hpp"
#include "desk/demo_record.hpp"
#include "desk/handover_checklist.hpp"
#include "desk/sign.hpp"
#include "store/memory_store.hpp"

namespace gw::desk {
namespace {

Instant const now{1779212400000, 0};

struct Signed {
    store::MemoryStore store;
    std::string id;
    Signed() {
        id = record_demo(store).value();
        for (auto const& [name, statement] : {std::pair("A. Person", visit::Statement::work),
                                              std::pair("A. Person", visit::Statement::conformity),
                                              std::pair("B. Person", visit::Statement::witness)}) {
            auto const text = new_key(name, Secret(), now, Cost::least).value();
            auto const key = open_key(read_key(text, "key").value(), Secret(), "key").value();
            EXPECT_TRUE(sign_visit(store, id, {statement, {}}, key, now));
        }
    }
};

Signed& made() {
    static Signed out;
    return out;
}

TEST(VisitHandover, AnswersEveryQuestionOfAnAuditor) {
    auto const shown = show_visit(made().store, made().id, now).value();
    auto const facts = handover_facts(made().store, shown, "gaswright test").value();
    auto const list = auditor_checklist(facts);
    ASSERT_TRUE(list) << one_line(list.error());
    EXPECT_GE(list->size(), 25U);
    auto const html =
        report::document_html(visit_handover(made().store, shown, "gaswright test").value())
            .value();
    for (auto const& line : *list) {
        EXPECT_TRUE(line.answered) << line.id << ": " << line.where;
        EXPECT_FALSE(line.source.empty()) << line.id;
        // The section it points to is one that the handover has.
        EXPECT_NE(html.find("<h2>" + line.where + "</h2>"), std::string::npos)
            << line.id << " points to \"" << line.where << "\"";
    }
}

// A visit with hardly anything in it has its handover too, and that one says what is not there.
TEST(VisitHandover, SaysWhatIsMissing) {
    store::MemoryStore store;
    auto const id =
        start_visit(store, {"exchange", "PX", "", "", "", ""}, {"A. Person", now, {}}).value();
    auto const shown = show_visit(store, id, now).value();
    auto const facts = handover_facts(store, shown, "gaswright test").value();
    auto const list = auditor_checklist(facts).value();
    EXPECT_LT(std::count_if(list.begin(), list.end(), [](auto const& l) { return l.answered; }), 6);
    auto const document = visit_handover(store, shown, "gaswright test");
    ASSERT_TRUE(document);
    auto const html = report::document_html(*document).value();
    for (auto const* words : {"Conformity not shown",
                              "Nobody had signed",
                              "NOT THERE",
                              "No leak test was recorded",
                              "open, SAFETY",
                              "no trusted time was at hand"})
        EXPECT_NE(html.find(words), std::string::npos) << words;
    EXPECT_EQ(html.find("INVENTED DATA"), std::string::npos);
    EXPECT_TRUE(report::document_pdf(*document, report::Paper::letter));
}

TEST(VisitHandover, TellsWhatWasPassedOverAndWhatCameLater) {
    auto const shown = show_visit(made().store, made().id, now).value();
    auto const html =
        report::document_html(visit_handover(made().store, shown, "gaswright test").value())
            .value();
    for (auto const* words : {"the second stick was not at hand",
                              "superseded",
                              "INVENTED DATA",
                              "settings_before.csv",
                              "Fingerprint of the key",
                              "Witnessed: B. Person",
                              "not obtainable",
                              "leaves out"})
        EXPECT_NE(html.find(words), std::string::npos) << words;
    for (auto const& signature : shown.signatures)
        EXPECT_NE(html.find(signature.said.key), std::string::npos);
}

// Looked at on both papers: no text lies on another, and none leaves the page.
TEST(VisitHandover, NoTextLiesOnAnother) {
    auto const shown = show_visit(made().store, made().id, now).value();
    auto const document = visit_handover(made().store, shown, "gaswright test").value();
    for (auto const paper : {report::Paper::a4, report::Paper::letter}) {
        auto const size = report::size_of(paper);
        std::size_t number = 0;
        for (auto const& page : report::document_pages(document, paper)) {
            ++number;
            report::measured(size, [&](report::Canvas& canvas) {
                page(canvas);
                auto const& texts = canvas.placed();
                EXPECT_GT(texts.size(), 5U) << "page " << number;
                for (std::size_t i = 0; i < texts.size(); ++i) {
                    for (auto const& corner : texts[i].corners) {
                        EXPECT_GE(corner.x, 0) << texts[i].text;
                        EXPECT_LE(corner.x, size.width) << texts[i].text;
                        EXPECT_GE(corner.y, 0) << texts[i].text;
                        EXPECT_LE(corner.y, size.height) << texts[i].text;
                    }
                    for (std::size_t j = 0; j < i; ++j)
                        EXPECT_FALSE(report::overlap(texts[i], texts[j]))
                            << "page " << number << ": \"" << texts[i].text << "\" on \""
                            << texts[j].text << "\"";
                }
            });
        }
    }
}

}  // namespace
}  // namespace gw::desk
