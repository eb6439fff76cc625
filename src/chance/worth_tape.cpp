#include "chance/worth_tape.hpp"

#include <algorithm>

#include "chance/changes.hpp"
#include "chance/noted.hpp"
#include "chance/sound.hpp"

namespace buttonworth {
namespace {

/// Present value of one route in a draw. What falls on one branch is summed before it is asked whether any
/// mass comes there.
struct DrawTally {
  static constexpr bool keeps_lines = false;

  struct Branch {
    Noted::Mask live;
    Noted present_value = 0;
    Noted::Mask refused = false, broken = false;
  };
  std::vector<Branch> branches;
  Noted::Mask live = true;  ///< where there is any mass on the branch being walked

  Branch& branch() {
    const auto found = std::find_if(branches.begin(), branches.end(), [&](const Branch& one) {
      return one.live.node == live.node && one.live.value == live.value;
    });
    return found != branches.end() ? *found : branches.emplace_back(Branch{live});
  }
  void cash(const Noted& amount, const Noted& /*day*/, const Noted& discount) {
    branch().present_value += amount * discount;
  }
  void credit(const Noted& amount, const Noted& day, const Noted& discount) { cash(amount, day, discount); }
  template <class Reason>
  void refuse(const Noted::Mask& where, Reason&&) {
    Branch& one = branch();
    one.refused = either(one.refused, where);
  }
  template <class Fault>
  void impossible(const Noted::Mask& where, Fault&&) {
    Branch& one = branch();
    one.broken = either(one.broken, where);
  }
  template <class How>
  void line(const LineName&, const Noted&, const Noted&, How&&) {}

  /// A pull that the plan states is what it is in this draw. Any other cut was found at the plan's values: a
  /// stream that was not there then has none.
  Noted solve(const Plan&, std::size_t, const Table& table, const TableCurves<Noted>&, const Stream<Noted>&,
              const Scenario<Noted>& s) {
    if (table.cut.how == Cut::How::pull) return s[table.cut.target];
    impossible(Noted::Mask(true), [](const auto&) { return Error(Code::grade, {}); });
    return 0.5;
  }
};

class WorthTape {
 public:
  WorthTape(const Prepared<double>& means, const std::vector<Quantity>& inputs)
      : plan_(*means.plan), changes_(plan_, inputs), prepared_(plan_, Scenario<Noted>(means.scenario)) {
    std::vector<Noted> own;
    for (std::size_t i = 0; i < plan_.quantities.size(); ++i)
      own.emplace_back(number<double>(plan_.quantities.at(i).mean));
    for (Quantity input : inputs) {
      const bool not_negative = plan_.quantities[input].allowed != Allowed::any;
      own[input.index] = Noted(tape_.input(not_negative), &tape_);
      prepared_.scenario.put(input, own[input.index]);
    }
    work_out_changes(changes_, prepared_, [&](Quantity q) { return own[q.index]; });
  }

  Program of(const std::vector<HeldRoute>& routes, double largest) {
    Noted::Mask broken = broken_beforehand(routes);
    std::vector<TapeValue> outputs{broken};
    for (const HeldRoute& one : routes) {
      DrawTally tally;
      const HeldCuts<Noted> held(one.held.begin(), one.held.end());
      Walk<Noted, DrawTally>(prepared_, held, tally).route(*one.route);
      Noted present_value = 0;
      Noted::Mask refused = false;
      for (const DrawTally::Branch& branch : tally.branches) {
        present_value += choose(branch.live, branch.present_value, Noted(0));
        refused = either(refused, both(branch.refused, branch.live));
        broken = either(broken, both(branch.broken, branch.live));
      }
      const Noted worth = choose(refused, Noted(0), present_value);
      // What is no number is no figure of any world.
      broken = either(broken, no(abs(worth) <= Noted(largest)));
      outputs.push_back(worth);
      outputs.push_back(refused);
    }
    outputs.front() = broken;
    return tape_.program(outputs);
  }
  Program soundness() const { return tape_.program({Soundness<Noted>(plan_, prepared_.scenario).wrong()}); }

 private:
  /// More analytes than mass in the lot or in pieces apart; recoveries that fall, pulls that do not rise.
  Noted::Mask broken_beforehand(const std::vector<HeldRoute>& routes) const {
    Noted::Mask broken = false;
    if (changes_.lot) broken = either(broken, holds_too_much(prepared_.lot));
    for (std::size_t i : changes_.pieces) broken = either(broken, holds_too_much(prepared_.apart[i]));
    for (const auto& [step, entry] : changes_.curves)
      if (taken(routes, step))
        for (const CurvePiece<Noted>& piece : prepared_.curves[step][entry]->pieces())
          broken = either(broken, either(piece.end <= piece.start, piece.at(piece.end) < piece.r - 1e-12));
    return broken;
  }
  /// The curves of a table that no route comes to may be what they like.
  static bool taken(const std::vector<HeldRoute>& routes, std::size_t table) {
    return std::any_of(routes.begin(), routes.end(), [&](const HeldRoute& one) {
      const auto& tables = one.route->tables;
      return std::find(tables.begin(), tables.end(), table) != tables.end();
    });
  }

  const Plan& plan_;
  Changes changes_;
  Tape tape_;
  Prepared<Noted> prepared_;
};

}  // namespace

Program worth_program(const Prepared<double>& means, const std::vector<Quantity>& inputs,
                      const std::vector<HeldRoute>& routes, double largest) {
  return WorthTape(means, inputs).of(routes, largest);
}

Program worth_program(const Prepared<double>& means, const Drawing& drawing,
                      const std::vector<HeldRoute>& routes) {
  std::vector<Quantity> drawn;
  for (const Input& input : drawing.inputs()) drawn.push_back(input.quantity);
  return worth_program(means, drawn, routes);
}

Program soundness_program(const Prepared<double>& means, const std::vector<Quantity>& inputs) {
  return WorthTape(means, inputs).soundness();
}

}  // namespace buttonworth
