#include "visit/run_findings.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace gw::visit {
namespace {

// Certified 40 MJ/m3; runs 0.05 % and 0.15 % high: bias 0.1 %, scatter 0.0707 %.
Proof proof() {
    Proof out;
    metrology::Finding bias;
    bias.id = "cv_bias";
    bias.unit = "%";
    bias.value = 0.1;
    bias.u = 0.06;
    bias.basis = "as_found";
    out.findings = {bias};
    for (double const cv : {40.02, 40.06}) {
        ProofRunLine line;
        line.gas = "proving";
        line.run.cv = cv;
        line.run.hash = "h";
        out.runs.push_back(line);
    }
    ProofRunLine line;
    line.gas = "line";
    line.stream = "2";
    line.run.cv = 39;
    out.runs.push_back(line);
    return out;
}

TEST(RunFindings, HoldOneRunAgainstTheCertificate) {
    auto const findings = run_findings(proof(), *metrology::shipped_criteria("custody"));
    ASSERT_EQ(findings.size(), 3U);
    EXPECT_NEAR(*findings[0].value, 0.05, 1e-12);
    EXPECT_NEAR(*findings[1].value, 0.15, 1e-12);
    // s^2 = 2 x 0.05^2; shared^2 = 0.06^2 - s^2 / 2; u^2 = shared^2 + s^2 = 0.0036 + 0.0025
    EXPECT_NEAR(*findings[0].u, std::sqrt(0.0061), 1e-12);
    EXPECT_GT(findings[0].k, 2) << "two runs say little about their scatter";
    EXPECT_EQ(findings[0].verdict, metrology::Verdict::unclear);
    EXPECT_EQ(findings[0].basis, "as_found");
    EXPECT_FALSE(findings[0].required);
}

TEST(RunFindings, LeaveLineGasWithoutVerdict) {
    auto const line = run_findings(proof(), *metrology::shipped_criteria("custody"))[2];
    EXPECT_EQ(line.verdict, metrology::Verdict::no_limit);
    EXPECT_EQ(line.stream, "2");
    EXPECT_EQ(*line.value, 39);
    EXPECT_EQ(line.unit, "MJ/m3");
}

}  // namespace
}  // namespace gw::visit
