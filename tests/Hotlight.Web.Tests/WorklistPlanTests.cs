using Hotlight.Web.Worklist;

namespace Hotlight.Web.Tests;

public sealed class WorklistPlanTests
{
    [Fact]
    public void Window_AnyPartsFoldedOrNot_IsACutOfTheListWrittenOut()
    {
        // A fixed seed; the claim is exact for every list.
        var random = new Random(7);
        for (int round = 0; round < 200; round++)
        {
            WorklistPart[] parts =
            [
                .. Enumerable.Range(0, random.Next(0, 12)).Select(number =>
                {
                    bool hasHead = random.Next(2) == 0;
                    return new WorklistPart($"part {number}", random.Next(1, 6), hasHead, hasHead && random.Next(2) == 0);
                }),
            ];
            var all = new List<(string Key, int? CaseInPart, int CaseInList)>();
            int cases = 0;
            foreach (WorklistPart part in parts)
            {
                if (part.HasHead)
                {
                    all.Add((part.Key, null, cases));
                }

                for (int number = 0; number < part.Cases && !part.IsFolded; number++)
                {
                    all.Add((part.Key, number, cases + number));
                }

                cases += part.Cases;
            }

            var plan = new WorklistPlan(parts);
            Assert.Equal((all.Count, cases), (plan.Lines, plan.Cases));
            for (int cut = 0; cut < 10; cut++)
            {
                int first = random.Next(-3, all.Count + 3);
                int count = random.Next(0, 9);
                WorklistLine[] window = [.. plan.Window(first, count)];
                int begin = Math.Clamp(first, 0, all.Count);
                int end = Math.Clamp(first + count, begin, all.Count);
                Assert.Equal(all[begin..end], window.Select(line => (line.Part.Key, line.CaseInPart, line.CaseInList)));
                Assert.Equal(Enumerable.Range(begin, end - begin), window.Select(line => line.Line));
            }
        }
    }

    [Fact]
    public void Window_HugeCount_EndsWithTheList()
        => Assert.Equal(3, new WorklistPlan([new WorklistPart("a", 3, false, false)]).Window(0, int.MaxValue).Count);
}
