#include "desk/demo_handover.hpp"

#include <gtest/gtest.h>

#include <cstdlib>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "base/file.hpp"
#include "base/hash.hpp"

namespace gw::desk {
namespace {

// What a program of another house reads in the page; empty when that program is not installed.
std::string seen_by(std::string const& program, std::string const& file) {
    auto const out = file + ".out";
    std::string const command = program + " > " + out + " 2>/dev/null";
    if (std::system(command.c_str()) != 0) return {};
    auto text = read_file(out).value_or("");
    std::filesystem::remove(out);
    std::string flat;  // line ends are the layout's business, not the sentence's
    for (char const c : text) flat += c == '\n' ? ' ' : c;
    return flat;
}

bool has(char const* program) {
    return std::system((std::string("command -v ") + program + " >/dev/null").c_str()) == 0;
}

TEST(DemoHandover, IsOnePageThatSaysWhatTheFindingsSay) {
    auto const told = demo();
    ASSERT_TRUE(told) << told.error().what;
    auto const handover = demo_handover(*told, "9.9.9");
    auto const file = (std::filesystem::temp_directory_path() / "gw_handover_test.pdf").string();
    for (auto const paper : {report::Paper::a4, report::Paper::letter}) {
        auto const written = write_handover(handover, file, paper);
        ASSERT_TRUE(written) << written.error().what;
        auto const bytes = *read_file(file);
        EXPECT_EQ(sha256(bytes), written->sha256);
        EXPECT_EQ(sha256(to_text(written->data)), written->data_sha256);
        EXPECT_EQ(sha256(*report::handover_pdf(handover, paper)), written->sha256) << "same bytes";
        // "/Type /Page" once, and every font carries its file with it.
        std::size_t pages = 0;
        for (auto at = bytes.find("/Type /Page"); at != std::string::npos;
             at = bytes.find("/Type /Page", at + 1))
            pages += bytes.compare(at, 12, "/Type /Pages") == 0 ? 0 : 1;
        EXPECT_EQ(pages, 1U);
        EXPECT_NE(bytes.find("/FontFile"), std::string::npos);

        if (has("pdfinfo")) {
            auto const info = seen_by("pdfinfo '" + file + "'", file);
            EXPECT_NE(info.find("Pages:           1"), std::string::npos) << info;
            EXPECT_NE(info.find(paper == report::Paper::a4 ? "(A4)" : "(letter)"),
                      std::string::npos)
                << info;
        }
        if (has("pdffonts")) {
            auto const fonts = seen_by("pdffonts '" + file + "'", file);
            EXPECT_NE(fonts.find(" yes yes yes "), std::string::npos) << fonts;
            EXPECT_EQ(fonts.find(" no "), std::string::npos) << "every font embedded and mapped";
        }
        if (has("pdftotext")) {
            auto const text = seen_by("pdftotext -layout '" + file + "' -", file);
            for (auto const& sentence : {std::string("Conformity shown"),
                                         std::string("INVENTED DATA"),
                                         handover.site,
                                         handover.analyser,
                                         std::string("2026-05-19"),
                                         std::string("As found, conformity was not shown"),
                                         std::string("Nothing here is authority to proceed"),
                                         std::string("gaswright 9.9.9"),
                                         written->data_sha256,
                                         report::checksum_of(handover.evidence),
                                         report::checksum_of(handover.tables)})
                EXPECT_NE(text.find(sentence), std::string::npos) << sentence << "\n" << text;
        }
    }
    std::filesystem::remove(file);
}

TEST(DemoHandover, KeepsItsTextsApart) {
    auto const told = demo();
    ASSERT_TRUE(told);
    auto const handover = demo_handover(*told, "0");
    for (auto const paper : {report::Paper::a4, report::Paper::letter})
        (void)report::render(
            report::Format::pdf, report::size_of(paper), {}, [&](report::Canvas& canvas) {
                report::draw_handover(canvas, handover);
                auto const& placed = canvas.placed();
                for (std::size_t i = 0; i < placed.size(); ++i)
                    for (std::size_t j = i + 1; j < placed.size(); ++j)
                        EXPECT_FALSE(report::overlap(placed[i], placed[j]))
                            << placed[i].text << " / " << placed[j].text;
            });
}

TEST(DemoHandover, RefusesOtherNamesAndPapers) {
    for (auto const* file : {"page.svg", "page", "page.doc"}) {
        auto const refused = check_handover_file(file);
        ASSERT_FALSE(refused) << file;
        EXPECT_EQ(refused.error().code, Errc::bad_input);
    }
    EXPECT_TRUE(check_handover_file("page.PDF"));
    EXPECT_EQ(*paper_of("Letter"), report::Paper::letter);
    EXPECT_FALSE(paper_of("a3"));
}

}  // namespace
}  // namespace gw::desk
